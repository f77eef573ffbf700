import {
  type GreyImage,
  leastSpectrumSidePx,
  type Region,
  type RingSpectrum,
  ringBlurTable,
  ringSpectrometer,
  sceneLikelihood,
} from '../../../image/index.js';
import { detailOf } from './detail.js';
import { believe } from './focus-belief.js';
import { estimateFocus, type FocusEstimate } from './focus-estimate.js';
import { type FocusOptics, halfWidthBlurRadiusPx } from './focus-optics.js';

/** Best focus of two quarters of a region that do not lie at one distance. */
export interface PlanesApart {
  firstDpt: number;
  secondDpt: number;
}

/** A quarter is heard when it has this much detail, and is this sure. */
const leastSignificance = 8;
const surelyAt = 0.8;
/** Quarters this far apart, in half-widths of the depth of field and in standard deviations, lie at two distances. */
const apartHalfWidths = 2;
const apartSigmas = 4;
const maxBlurPx = 120;

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
  const { rings, measure } = ringSpectrometer({ widthPx, heightPx });
  const likelihood = sceneLikelihood(rings);
  const table = ringBlurTable({ rings, cutoffPerPx: optics.cutoffPerPx, maxBlurRadiusPx: maxBlurPx });
  const halfWidthPx = halfWidthBlurRadiusPx(optics.cutoffPerPx);
  const answers: FocusEstimate[] = [];
  for (const xPx of [region.xPx, region.xPx + widthPx]) {
    for (const yPx of [region.yPx, region.yPx + heightPx]) {
      const spectra = frames.map(({ image }) => measure(image, { xPx, yPx }));
      const noiseDn2 = noiseOf(spectra);
      if (!spectra.some((s) => detailOf({ ...s, noiseDn2, rings }).significanceRatio > leastSignificance)) continue;
      const believed = frames.map(({ powersDpt }, k) => ({
        focalPowersDpt: powersDpt,
        powersDn2: spectra[k]!.powersDn2,
        noiseDn2,
      }));
      const answer = estimateFocus(believe({ frames: believed, optics, limits, likelihood, table }), { halfWidthPx });
      if (answer.probabilityInFocus > surelyAt) answers.push(answer);
    }
  }
  if (answers.length < 2) return null;
  answers.sort((a, b) => a.focalPowerDpt - b.focalPowerDpt);
  const first = answers[0]!;
  const second = answers.at(-1)!;
  const apartDpt = second.focalPowerDpt - first.focalPowerDpt;
  const std = Math.hypot(first.focalPowerStdDpt, second.focalPowerStdDpt);
  if (apartDpt < Math.max(apartHalfWidths * first.halfWidthDpt, apartSigmas * std)) return null;
  return { firstDpt: first.focalPowerDpt, secondDpt: second.focalPowerDpt };
}

const noiseOf = (spectra: readonly RingSpectrum[]): number =>
  Math.max(1 / 12, Math.min(...spectra.map(({ powersDn2 }) => powersDn2.at(-1)!)));
