import { FocuswrightError, type Random, throwIfCancelled } from '../base/index.js';
import type { TargetStage } from '../devices/index.js';
import type { BuildErrors } from './build-errors.js';
import type { World } from './world.js';

/** Time that bringing the target to a place takes. */
const placementMs = 800;
const farthestMm = 1e6;

/**
 * The stage of the simulated station: it says the distance that was asked for, and brings the target there up to its own
 * placement error.
 *
 * Throws   `target-not-placeable` for a distance that is not finite, not > 0 or beyond 1 km; `cancelled`.
 */
export function simulatedStage({
  world,
  errors,
  random,
  sleep,
}: {
  world: World;
  errors: BuildErrors;
  random: Random;
  sleep: (durationMs: number) => Promise<void>;
}): TargetStage {
  return {
    distancesMm: null,
    async placeTarget({ workingDistanceMm, signal }) {
      if (signal) throwIfCancelled(signal, 'placing the target');
      if (!(workingDistanceMm > 0 && workingDistanceMm <= farthestMm)) {
        throw new FocuswrightError('target-not-placeable', {
          workingDistance: `${workingDistanceMm} mm`,
          allowed: `> 0 mm and ≤ ${farthestMm} mm`,
        });
      }
      await sleep(placementMs);
      world.workingDistanceMm = Math.max(1e-3, workingDistanceMm + errors.placementStdMm * random.normal());
      return workingDistanceMm;
    },
  };
}
