import {
  type GreyImage,
  leastSpectrumSidePx,
  type Region,
  type RingSpectrum,
} from '../../../image/index.js';
import { detailOf } from './detail.js';
import { believe, type FocusBelief } from './focus-belief.js';
import { estimateFocus, type FocusEstimate } from './focus-estimate.js';
import { type FocusOptics, halfWidthBlurRadiusPx } from './focus-optics.js';
import { focusWorkspace } from './focus-workspace.js';

/** Best focus of two quarters of a region that do not lie at one distance. */
export interface PlanesApart {
  firstDpt: number;
  secondDpt: number;
  /** Both are known well; else a frame at the less known one would tell. */
  isSure: boolean;
}

/** A quarter is heard when it has this much detail, and is this sure. */
const leastSignificance = 8;
const surelyAt = 0.8;
/** Quarters this far apart, in half-widths of the depth of field and in standard deviations, lie at two distances. */
const apartHalfWidths = 2.5;
const apartSigmas = 5;
/** Probability that may be left for a common focus, so close to the surer quarter's. */
const mostCommon = 0.05;
const commonHalfWidths = 1.5;
const mostBlurPx = 120;
const systematicPx = 0.2;

/**
 * Looks whether the quarters of a region come into focus at different powers.
 *
 * Model    each quarter's own belief from the same frames, with the blur scale of the whole
 * Returns  the two quarters farthest apart, or null: one plane, or too little detail in the quarters to tell.
 */
export function planesApart({
  frames,
  region,
  optics,
  limits,
}: {
  frames: readonly { image: GreyImage; powersDpt: readonly number[] }[];
  /** Sides powers of two. */
  region: Region;
  optics: FocusOptics;
  limits: { powerMinDpt: number; powerMaxDpt: number };
}): PlanesApart | null {
  const widthPx = region.widthPx / 2;
  const heightPx = region.heightPx / 2;
  if (Math.min(widthPx, heightPx) < leastSpectrumSidePx) return null;
  const { spectrometer, likelihood, table } = focusWorkspace({
    widthPx,
    heightPx,
    cutoffPerPx: optics.cutoffPerPx,
    mostBlurPx,
  });
  const { rings, measure } = spectrometer;
  const halfWidthPx = halfWidthBlurRadiusPx(optics.cutoffPerPx);
  const answers: { belief: FocusBelief; estimate: FocusEstimate }[] = [];
  for (const xPx of [region.xPx, region.xPx + widthPx]) {
    for (const yPx of [region.yPx, region.yPx + heightPx]) {
      const spectra = frames.map(({ image }) => measure(image, { xPx, yPx }));
      const noiseDn2 = noiseOf(spectra);
      if (!spectra.some((s) => detailOf({ ...s, noiseDn2, rings }).significanceRatio > leastSignificance)) continue;
      const believed = frames.map(({ powersDpt }, k) => ({
        focalPowersDpt: powersDpt,
        powersDn2: spectra[k]!.powersDn2,
        coefficientCounts: spectra[k]!.coefficientCounts,
        noiseDn2,
      }));
      const belief = believe({
        frames: believed,
        optics,
        limits,
        likelihood,
        table,
        sidePx: Math.min(widthPx, heightPx),
      });
      answers.push({
        belief,
        estimate: estimateFocus(belief, { halfWidthPx, systematicPx, optics }),
      });
    }
  }
  answers.sort((a, b) => b.estimate.probabilityInFocus - a.estimate.probabilityInFocus);
  const first = answers[0]?.estimate;
  if (!first || first.probabilityInFocus < surelyAt) return null;
  const { focalPowerDpt: firstDpt, halfWidthDpt } = first;
  for (const { belief, estimate } of answers.slice(1)) {
    const common = belief.reduce(
      (sum, h) => (Math.abs(h.bestFocusDpt - firstDpt) < commonHalfWidths * halfWidthDpt ? sum + h.probability : sum),
      0,
    );
    const { focalPowerDpt: secondDpt, probabilityInFocus } = estimate;
    const std = Math.hypot(first.focalPowerStdDpt, estimate.focalPowerStdDpt);
    const isApart = Math.abs(secondDpt - firstDpt) > Math.max(apartHalfWidths * halfWidthDpt, apartSigmas * std);
    if (isApart && common < mostCommon) return { firstDpt, secondDpt, isSure: probabilityInFocus > surelyAt };
  }
  return null;
}

const noiseOf = (spectra: readonly RingSpectrum[]): number =>
  Math.max(1 / 12, Math.min(...spectra.map(({ powersDn2 }) => powersDn2.at(-1)!)));
