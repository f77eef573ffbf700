export * from './focus-measure-noise.js';
export * from './measure-focus.js';
