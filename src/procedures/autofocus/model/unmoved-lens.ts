import { expectedBlur, type SceneLikelihood } from '../../../image/index.js';
import type { BelievedFrame } from './hypothesis-fit.js';

/** Frames that differ no more than this, over a share of the range, show a lens that does not move. */
const unmovedError = 0.08;
const unmovedSlack = 3;
const unmovedRatio = 1.25;
const unmovedShare = 0.05;
const leastFrames = 3;

/** Whether frames of clearly different powers are explained as well by a blur that stays the same. */
export function isUnmoved({
  frames,
  commandedDpt,
  measures,
  bestLogLikelihood,
  limits,
  likelihood,
}: {
  frames: readonly BelievedFrame[];
  commandedDpt: readonly number[];
  /** Detail of each frame. */
  measures: readonly number[];
  /** Of the most probable hypothesis. */
  bestLogLikelihood: number;
  limits: { powerMinDpt: number; powerMaxDpt: number };
  likelihood: SceneLikelihood;
}): boolean {
  const spread = Math.max(...commandedDpt) - Math.min(...commandedDpt);
  if (frames.length < leastFrames || spread < unmovedShare * (limits.powerMaxDpt - limits.powerMinDpt)) return false;
  if (Math.max(...measures) > unmovedRatio * Math.min(...measures)) return false;
  const same = frames.map(({ powersDn2 }) => {
    const blur = expectedBlur(powersDn2.length);
    blur.shares.fill(1);
    return blur;
  });
  return likelihood.fit(frames, same, unmovedError).logLikelihood > bestLogLikelihood - unmovedSlack;
}
