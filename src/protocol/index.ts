export * from './api.js';
export * from './run-events.js';
