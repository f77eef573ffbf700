import type { FocusEstimate } from './focus-estimate.js';

interface PowerRange {
  powerMinDpt: number;
  powerMaxDpt: number;
}

/** Before best focus counts as beyond a limit, so far inward from it must be less sharp, in half-widths. */
const inwardHalfWidths = 2;
/** A frame within this of the limit, or of the inward power, counts as taken there, in half-widths. */
const atLimitHalfWidths = 0.3;
const atInwardHalfWidths = 0.7;

/**
 * Whether frames bear out that best focus lies beyond a limit: one at that limit must be the sharpest of all, one a little
 * inward among them; else the model is mistaken about the scene.
 */
export function tryLimit({
  estimate: { focalPowerDpt, halfWidthDpt },
  limits: { powerMinDpt, powerMaxDpt },
  commandedDpt,
  measures,
}: {
  estimate: FocusEstimate;
  limits: PowerRange;
  commandedDpt: readonly number[];
  /** Detail of each frame. */
  measures: readonly number[];
}): { kind: 'look'; focalPowerDpt: number } | { kind: 'sharpest' } | { kind: 'mistaken' } {
  const limitDpt = focalPowerDpt > powerMaxDpt ? powerMaxDpt : powerMinDpt;
  const inwardDpt = limitDpt + (limitDpt === powerMaxDpt ? -1 : 1) * inwardHalfWidths * halfWidthDpt;
  const offDpt = (wantedDpt: number) => commandedDpt.map((dpt) => Math.abs(dpt - wantedDpt));
  for (const [wantedDpt, withinHalfWidths] of [
    [limitDpt, atLimitHalfWidths],
    [inwardDpt, atInwardHalfWidths],
  ] as const) {
    if (Math.min(...offDpt(wantedDpt)) > withinHalfWidths * halfWidthDpt) {
      return { kind: 'look', focalPowerDpt: wantedDpt };
    }
  }
  const off = offDpt(limitDpt);
  const atLimit = off.indexOf(Math.min(...off));
  const isSharpest = measures.every((measure, k) => k === atLimit || measure < measures[atLimit]!);
  return { kind: isSharpest ? 'sharpest' : 'mistaken' };
}
