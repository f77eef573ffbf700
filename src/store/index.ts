export { createHandoverFolder, type HandoverFolder } from './handover-folder.js';
export { makeFolder } from './make-folder.js';
export { readUserData, userDataFolder, writeUserData } from './user-data.js';
