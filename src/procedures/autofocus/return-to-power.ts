import type { FocusFound } from '../../station/index.js';
import type { FocusSearchRequest } from './run-search.js';

/** Overshoot, in widths of the hysteresis, before a power is approached from its side. */
const overshootWidths = 2;

/** Back to a found power, from the side on which it was found; waits until the lens is there. */
export async function returnToPower(
  { camera, response }: Pick<FocusSearchRequest, 'camera' | 'response'>,
  found: Pick<FocusFound, 'focalPowerDpt' | 'approachedFrom'>,
): Promise<void> {
  const { powerMinDpt, powerMaxDpt } = await camera.capabilities();
  const beyondDpt = (found.approachedFrom === 'below' ? -1 : 1) * overshootWidths * response.hysteresisDpt;
  const viaDpt = Math.min(powerMaxDpt, Math.max(powerMinDpt, found.focalPowerDpt + beyondDpt));
  for (const focalPowerDpt of beyondDpt === 0 ? [found.focalPowerDpt] : [viaDpt, found.focalPowerDpt]) {
    const { focalPowerDpt: fromDpt } = await camera.lensStatus();
    await camera.setFocalPower({ focalPowerDpt });
    await camera.clock.sleep(response.settlingMs({ fromDpt, toDpt: focalPowerDpt }));
  }
}
