export { type FocusTilt, focusTilt, type ShimAdvice } from './focus-tilt.js';
