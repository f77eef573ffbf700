export { type LevelNoise, type LevelNoiseMeter, levelNoiseMeter } from './level-noise.js';
export * from './photon-transfer.js';
