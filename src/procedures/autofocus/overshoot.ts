import type { LensResponse } from './run-search.js';

const overshootWidths = 2;
const leastOvershootDpt = 0.05;
/** Where nothing is known of the lens: this share of its range; common practice, no source. */
const unknownOvershootShare = 0.04;

/**
 * The power to go to first, so that another is then reached from a side with all of the hysteresis taken up.
 *
 * Model    two widths of the hysteresis beyond, 0.05 dpt at least; 4 % of the range where it is not known
 * Returns  dpt, inside the limits: near them the overshoot is shorter.
 */
export function overshootPowerDpt({
  toDpt,
  side,
  response,
  limits: { powerMinDpt, powerMaxDpt },
}: {
  toDpt: number;
  side: 'below' | 'above';
  response: Pick<LensResponse, 'powersDpt' | 'hysteresisDpt'>;
  limits: { powerMinDpt: number; powerMaxDpt: number };
}): number {
  const isUnknown = response.powersDpt === undefined && response.hysteresisDpt === 0;
  const usualDpt = isUnknown ? unknownOvershootShare * (powerMaxDpt - powerMinDpt) : 0;
  const beyondDpt = Math.max(leastOvershootDpt, usualDpt, overshootWidths * response.hysteresisDpt);
  return Math.min(powerMaxDpt, Math.max(powerMinDpt, toDpt + (side === 'below' ? -beyondDpt : beyondDpt)));
}
