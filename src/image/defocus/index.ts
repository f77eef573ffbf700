export { type RelativeScale, relativeScale } from './relative-scale.js';
export { type RingBlur, type RingBlurTable, ringBlurTable, wavesOfBlurRadius } from './ring-blur-table.js';
export { ringSpectrometerFast } from './ring-spectrum.fast.js';
export {
  leastSpectrumSidePx,
  type RingSpectrometer,
  type RingSpectrum,
  ringSpectrometer,
  spectrumRegion,
} from './ring-spectrum.js';
export { sceneLikelihoodFast } from './scene-likelihood.fast.js';
export {
  type BlurHypothesis,
  type ExpectedBlur,
  expectedBlur,
  type FrameBlur,
  type SceneLikelihood,
  type SeenSpectrum,
  sceneLikelihood,
} from './scene-likelihood.js';
export type { SpectrumRings } from './spectrum-rings.js';
