import type { Scene } from './scenes/index.js';

/** What camera, lens and stage all see: the target, the light, the temperature. */
export interface World {
  scene: Scene;
  /** True working distance of the target, from the mechanical front of the foremost part. */
  workingDistanceMm: number;
  /** Speed of the target along the image's x. Each exposure finds it in the same place, as behind a trigger. */
  speedMmPerS: number;
  /** Light relative to what the station file says. */
  lightRatio: number;
  /** True temperature of the lens. */
  temperatureAt(timeMs: number): number;
}

/** Time constant of the lens's warming; common practice, no source. */
const warmUpTimeConstantMs = 240_000;

/**
 * Temperature of a lens that works from time 0 on.
 *
 * Formula  T = ambient + rise·(1 − exp(−t/τ)), τ = 4 min
 */
export const warmingTemperature =
  ({ ambientDegC, riseDegC }: { ambientDegC: number; riseDegC: number }) =>
  (timeMs: number): number =>
    ambientDegC + riseDegC * (1 - Math.exp(-timeMs / warmUpTimeConstantMs));
