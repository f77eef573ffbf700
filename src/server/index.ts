export * from './build-server.js';
export * from './start-server.js';
