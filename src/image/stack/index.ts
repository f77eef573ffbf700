export { type FocusRefusalReason, focusRefusals } from './fit-best-focus.js';
export {
  type DistanceOfPower,
  type HeightMap,
  type HeightPicture,
  type HeightSummary,
  heightMap,
  heightPicture,
} from './height-map.js';
export { frameBytes, type StackSize, stackMemory, stackMemoryBytes } from './stack-memory.js';
export { type StackNoise, type StackOrder, type StackSweep, stackSweep } from './stack-sweep.js';
export { type ThroughFocusModel, throughFocusModel } from './through-focus-model.js';
