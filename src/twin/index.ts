export { type BuildErrors, drawBuildErrors, noBuildErrors } from './build-errors.js';
export { type Fault, type FaultKind, usualFaults } from './faults.js';
export { type Canvas, type FieldOfScene, type Scene, sceneFromImage, scenes } from './scenes/index.js';
export { plain } from './scenes/plain.js';
export { createSimulatedBench, type SimulatedBench } from './simulated-bench.js';
export { type SlavedClock, slavedClock } from './slaved-clock.js';
export { virtualClock } from './virtual-clock.js';
export type { World } from './world.js';
