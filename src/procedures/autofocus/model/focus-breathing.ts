/** Change of drawn size from one frame to another, as measured. */
export interface SeenGrowth {
  /** Powers of the two frames. */
  fromDpt: number;
  toDpt: number;
  /** How much larger the second shows the scene. */
  scaleRatio: number;
  scaleStd: number;
}

/** How the drawn size goes with the power: as 1/(1 − perDpt·P). */
export interface FocusBreathing {
  perDpt: number;
}

/** What a measured growth may be off beyond its own scatter. */
const leastStd = 0.002;
const rounds = 6;
/** Squared residuals, in standard deviations, from which on a growth counts less: some pictures mislead. */
const trustedSquare = 9;
/** D farther than this many standard deviations from the usual one is no lens, and a growth that asks for it a mistake. */
const mostSigmas = 3;
/** What a growth may be off besides. */
const growthSlack = 0.01;
/** No lens changes the size more than this. */
const mostGrowth = 0.25;

/** How much larger a frame at one power shows a scene at rest than one at another. */
export const sizeRatio = ({ perDpt }: FocusBreathing, { fromDpt, toDpt }: { fromDpt: number; toDpt: number }): number =>
  Math.exp(Math.max(-mostGrowth, Math.min(mostGrowth, logSizeRatio(perDpt, { fromDpt, toDpt }))));

const logSizeRatio = (perDpt: number, { fromDpt, toDpt }: { fromDpt: number; toDpt: number }): number =>
  Math.log1p(Math.max(leastRest, -perDpt * fromDpt)) - Math.log1p(Math.max(leastRest, -perDpt * toDpt));

/** Where the size would go beyond all bounds, the law has ended. */
const leastRest = -0.9;

/**
 * Breathing of a lens from the growths between its frames.
 *
 * Model    a tunable lens at a distance d before the pupil turns the chief ray: drawn size ∝ 1/(1 − D·P), with D = d for an
 *          object far away; 0 for one at the pupil. D by least squares with a normal prior, outliers given little weight
 * Returns  the prior's D where no growth could be measured.
 * Trust    a lens behind the stop follows another law; over a few per cent of growth the two are alike.
 * Source   chief ray through two thin lenses; derived here
 * Checked  reference and recovery: tests/procedures/autofocus/focus-breathing.test.ts
 */
export function fitBreathing(
  growths: readonly SeenGrowth[],
  { usualPerDpt, stdPerDpt }: { usualPerDpt: number; stdPerDpt: number },
): FocusBreathing {
  const reach = mostSigmas * stdPerDpt;
  const plausible = growths.filter(({ fromDpt, toDpt, scaleRatio }) => {
    const off = Math.log(scaleRatio) - logSizeRatio(usualPerDpt, { fromDpt, toDpt });
    return Math.abs(off) < growthSlack + reach * Math.abs(toDpt - fromDpt);
  });
  const held = (perDpt: number) => Math.max(usualPerDpt - reach, Math.min(usualPerDpt + reach, perDpt));
  // Student's t, up to a constant.
  const misfit = (perDpt: number) =>
    plausible.reduce(
      (sum, { fromDpt, toDpt, scaleRatio, scaleStd }) => {
        const off = Math.log(scaleRatio) - logSizeRatio(perDpt, { fromDpt, toDpt });
        return sum + trustedSquare * Math.log1p(off ** 2 / (trustedSquare * (scaleStd ** 2 + leastStd ** 2)));
      },
      ((perDpt - usualPerDpt) / stdPerDpt) ** 2,
    );
  const starts = plausible.map(({ fromDpt, toDpt, scaleRatio }) =>
    held((scaleRatio - 1) / (scaleRatio * toDpt - fromDpt || 1)),
  );
  let perDpt = [usualPerDpt, ...starts].reduce((best, start) => (misfit(start) < misfit(best) ? start : best));
  for (let round = 0; round < rounds; round++) {
    let information = 1 / stdPerDpt ** 2;
    let score = (usualPerDpt - perDpt) * information;
    for (const { fromDpt, toDpt, scaleRatio, scaleStd } of plausible) {
      const off = Math.log(scaleRatio) - logSizeRatio(perDpt, { fromDpt, toDpt });
      const slope = toDpt / (1 - perDpt * toDpt) - fromDpt / (1 - perDpt * fromDpt);
      const variance = scaleStd ** 2 + leastStd ** 2;
      const weight = 1 / (variance * (1 + off ** 2 / (variance * trustedSquare)));
      score += weight * slope * off;
      information += weight * slope ** 2;
    }
    perDpt = held(perDpt + score / information);
  }
  return { perDpt };
}
