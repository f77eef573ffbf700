export * from './focus-measure-noise.js';
export * from './focus-reading.js';
export * from './measure-focus.js';
