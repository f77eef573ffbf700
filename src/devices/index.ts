export * from './camera-settings.js';
export * from './capabilities.js';
export * from './contract.js';
export * from './evidence-sink.js';
export * from './frame.js';
export * from './lens-guard.js';
export * from './plain-camera.js';
export * from './wrap-camera.js';
