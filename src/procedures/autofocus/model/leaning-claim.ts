import type { FocusEstimate } from './focus-estimate.js';

/** Frames this close to a claimed focus, in half-widths, show that it is there, but not where in there. */
const tellsBeyond = 1.2;
/** Where a frame makes a claim stand on both sides; on the same side, where there is no room. */
const acrossHalfWidths = 3;
const besideHalfWidths = 2;

/** Telling frames this far off on one side alone, and a claim no surer than this, in half-widths: then it leans. */
const knownOptics = { farHalfWidths: 4, stdHalfWidths: 0.15 } as const;
const unknownOptics = { farHalfWidths: 2, stdHalfWidths: 0.23 } as const;
/** A scene that has taken this many frames is no easy one: its claim leans, however sure, from so far on. */
const manyFrames = 4;
const farAfterMany = 6;

/**
 * The power for one more frame where a claim leans: its telling frames lie on one side alone, far off, so that it hangs on
 * the blur scale and the aberrations.
 *
 * Returns  dpt inside the limits: on the other side; where there is no room for that, nearer on the same one; null: none needed.
 * Checked  closed form and property: tests/procedures/autofocus/leaning-claim.test.ts
 * Trust    thresholds from the simulated suite: claims from one side erred by 0.15 to 0.18 half-widths rms, others by 0.11.
 */
export function leaningClaim({
  estimate: { focalPowerDpt, focalPowerStdDpt, halfWidthDpt },
  commandedDpt,
  limits: { powerMinDpt, powerMaxDpt },
  isUnknown,
}: {
  estimate: FocusEstimate;
  /** Powers of the frames so far. */
  commandedDpt: readonly number[];
  limits: { powerMinDpt: number; powerMaxDpt: number };
  /** Whether the optics are not known. */
  isUnknown: boolean;
}): number | null {
  const { farHalfWidths, stdHalfWidths } = isUnknown ? unknownOptics : knownOptics;
  const offs = commandedDpt.map((dpt) => (dpt - focalPowerDpt) / halfWidthDpt);
  const telling = offs.filter((off) => Math.abs(off) > tellsBeyond);
  if (telling.length === 0 || (Math.min(...telling) < 0 && Math.max(...telling) > 0)) return null;
  const nearest = Math.min(...telling.map(Math.abs));
  const isUnsure = focalPowerStdDpt >= stdHalfWidths * halfWidthDpt;
  const leans =
    (isUnsure && nearest >= farHalfWidths) || (commandedDpt.length >= manyFrames && nearest >= farAfterMany);
  if (!leans) return null;
  const side = Math.sign(telling[0]!);
  const across = focalPowerDpt - side * acrossHalfWidths * halfWidthDpt;
  const held = Math.min(powerMaxDpt, Math.max(powerMinDpt, across));
  if (Math.abs(held - focalPowerDpt) >= tellsBeyond * halfWidthDpt) return held;
  return focalPowerDpt + side * besideHalfWidths * halfWidthDpt;
}
