import { throwIfCancelled } from '../base/index.js';
import { powerLimitsOf, type Station } from '../station/index.js';
import type { Run } from './run-context.js';
import { settlingWaitMs } from './sweep/settling-wait.js';

/**
 * Commands a power and waits on the camera's clock until the lens has settled by its second-order response.
 *
 * Returns  the power really commanded.
 * Throws   `cancelled`, or what the camera throws.
 */
export async function moveLens(
  run: Run,
  { focalPowerDpt, settleToDpt }: { focalPowerDpt: number; settleToDpt: number },
): Promise<number> {
  throwIfCancelled(run.signal, 'moving the lens');
  const { camera } = run.bench;
  const commandedDpt = await camera.setFocalPower({ focalPowerDpt });
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(run.station);
  const stepDpt = run.lastCommandDpt === null ? powerMaxDpt - powerMinDpt : commandedDpt - run.lastCommandDpt;
  run.lastCommandDpt = commandedDpt;
  await camera.clock.sleep(settlingWaitMs({ station: run.station, stepDpt, toleranceDpt: settleToDpt }));
  return commandedDpt;
}

/** How far beyond its first power a sweep begins: enough to take up the hysteresis and the play of the control. */
export function overshootDpt({ parts }: Station): number {
  const { hysteresisDpt, repeatabilityDpt, controlStepDpt } = parts.tunableLens;
  return Math.max(0.05, 4 * hysteresisDpt, 5 * repeatabilityDpt, 2 * controlStepDpt);
}
