import { type Clock, FocuswrightError, throwIfCancelled } from '../../base/index.js';
import type { TargetStage } from '../../devices/index.js';
import type { Features } from './features.js';

const distance = 'TargetDistance';
const status = 'TargetStatus';
const pollMs = 20;
const arrivesWithinMs = 20_000;

/** The stage of a simulated camera on the wire, which brings its own target to a distance; null where it has none. */
export async function simulatedTarget(features: () => Promise<Features>, clock: Clock): Promise<TargetStage | null> {
  if (!(await (await features()).has(distance))) return null;
  return {
    distancesMm: null,
    async placeTarget({ workingDistanceMm, signal }) {
      const now = await features();
      const { min, max } = (await now.describe(distance)) ?? {};
      if (!(workingDistanceMm >= (min ?? 0) && workingDistanceMm <= (max ?? Number.POSITIVE_INFINITY))) {
        throw new FocuswrightError('target-not-placeable', {
          workingDistance: `${workingDistanceMm} mm`,
          allowed: `${min} … ${max} mm`,
        });
      }
      if (signal) throwIfCancelled(signal, 'placing the target');
      await now.writeNumber(distance, workingDistanceMm);
      const untilMs = clock.nowMs() + arrivesWithinMs;
      while ((await now.has(status)) && (await now.readText(status)) === 'Busy' && clock.nowMs() < untilMs) {
        if (signal) throwIfCancelled(signal, 'placing the target');
        await clock.sleep(pollMs);
      }
      return workingDistanceMm;
    },
  };
}
