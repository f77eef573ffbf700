export * from './api.js';
export * from './autofocus.js';
export * from './kept-frames.js';
export * from './live-camera.js';
export * from './run-events.js';
