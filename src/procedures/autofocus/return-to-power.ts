import type { FocusFound } from '../../station/index.js';
import { overshootPowerDpt } from './overshoot.js';
import type { FocusSearchRequest } from './run-search.js';

/** Back to a found power, from the side on which it was found; waits until the lens is there. */
export async function returnToPower(
  { camera, response }: Pick<FocusSearchRequest, 'camera' | 'response'>,
  found: Pick<FocusFound, 'focalPowerDpt' | 'approachedFrom'>,
): Promise<void> {
  const { focalPowerDpt: toDpt, approachedFrom: side } = found;
  const knownWithout = response.powersDpt !== undefined && response.hysteresisDpt === 0;
  const viaDpt = overshootPowerDpt({ toDpt, side, response, limits: await camera.capabilities() });
  for (const focalPowerDpt of knownWithout ? [toDpt] : [viaDpt, toDpt]) {
    const { focalPowerDpt: fromDpt } = await camera.lensStatus();
    await camera.setFocalPower({ focalPowerDpt });
    await camera.clock.sleep(response.settlingMs({ fromDpt, toDpt: focalPowerDpt }));
  }
}
