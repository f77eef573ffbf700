export { createHandoverFolder, type HandoverFolder } from './handover-folder.js';
export { makeFolder } from './make-folder.js';
