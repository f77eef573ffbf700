export { type FocusTilt, focusTilt, type ShimAdvice } from './focus-tilt.js';
export { type GridPattern, type GridReading, type GridReadingPoint, measureGrid } from './grid-target.js';
export { type ScaleAtPower, type ScaleOverPower, scaleOverPower } from './scale-over-power.js';
