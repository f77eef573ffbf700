import { type GreyImage, leastSpectrumSidePx, type Region, type RingSpectrum } from '../../../image/index.js';
import { type Detail, detailOf } from './detail.js';
import { believe } from './focus-belief.js';
import { estimateFocus } from './focus-estimate.js';
import { type CompleteFocusOptics, halfWidthBlurRadiusPx } from './focus-optics.js';
import { focusWorkspace } from './focus-workspace.js';
import type { PlayOfFrame } from './hypothesis-fit.js';

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
const apartSigmas = 3.5;
/** Probability that may be left for a common focus, so close to the surer quarter's. */
const mostCommon = 0.05;
const commonHalfWidths = 1.5;
/** Frames so far apart, in half-widths, tell by this ratio of fine detail which is the sharper, and by so many of its deviations. */
const seenWithin = 1.5;
const clearlySharper = 1.15;
const sharperSigmas = 3;
/** The sharper frame must show this share of the detail of the quarter's sharpest: what is all blur tells nothing. */
const leastOfSharpest = 0.1;
/** Fine detail: light that leaks in from beyond a quarter's border has none. */
const finePerPx = 0.08;
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
  frames: readonly { image: GreyImage; powersDpt: readonly number[]; play: PlayOfFrame | null; scaleRatio: number }[];
  /** Sides powers of two. */
  region: Region;
  optics: CompleteFocusOptics;
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
  const powersDpt = frames.map(({ powersDpt: powers }) => powers[powers.length >> 1]!);
  const leastApartDpt = (seenWithin * halfWidthPx) / optics.blurRadiusPerDptPx;
  const quarters: Quarter[] = [];
  for (const xPx of [region.xPx, region.xPx + widthPx]) {
    for (const yPx of [region.yPx, region.yPx + heightPx]) {
      const spectra = frames.map(({ image, scaleRatio }) => measure(image, { xPx, yPx }, scaleRatio));
      const noiseDn2 = noiseOf(spectra);
      if (!spectra.some((s) => detailOf({ ...s, noiseDn2, rings }).significanceRatio > leastSignificance)) continue;
      const details = spectra.map((s) => detailOf({ ...s, noiseDn2, rings, lowestPerPx: finePerPx }));
      quarters.push({ spectra, noiseDn2, details });
    }
  }
  for (const [i, one] of quarters.entries()) {
    for (const other of quarters.slice(0, i)) {
      const crossed = sharperElsewhere({ one, other, powersDpt, leastApartDpt });
      if (crossed !== null) return { ...crossed, isSure: true };
    }
  }
  // Scale and aberration are those of the whole region: a quarter is asked for its best focus alone.
  const told = { ...optics, blurRadiusLogStd: 0, sphericalStdWaves: 0, asymmetryStdPerDpt: 0 };
  const answers = quarters.map(({ spectra, noiseDn2 }) => {
    const believed = frames.map(({ powersDpt: focalPowersDpt, play, scaleRatio }, k) => ({
      scaleRatio,
      focalPowersDpt,
      play,
      powersDn2: spectra[k]!.powersDn2.map((power) => power / scaleRatio ** 2),
      coefficientCounts: spectra[k]!.coefficientCounts,
      noiseDn2: noiseDn2 / scaleRatio ** 2,
    }));
    const sidePx = Math.min(widthPx, heightPx);
    const { belief } = believe({ frames: believed, optics: told, limits, likelihood, table, sidePx });
    return { belief, estimate: estimateFocus(belief, { halfWidthPx, systematicPx, optics }) };
  });
  answers.sort((a, b) => b.estimate.probabilityInFocus - a.estimate.probabilityInFocus);
  const first = answers[0]?.estimate;
  if (first === undefined || first.probabilityInFocus < surelyAt) return null;
  const { focalPowerDpt: firstDpt, halfWidthDpt } = first;
  for (const { belief, estimate } of answers.slice(1)) {
    const common = belief.reduce(
      (sum, h) => (Math.abs(h.bestFocusDpt - firstDpt) < commonHalfWidths * halfWidthDpt ? sum + h.probability : sum),
      0,
    );
    const { focalPowerDpt: secondDpt } = estimate;
    const std = Math.hypot(first.focalPowerStdDpt, estimate.focalPowerStdDpt);
    const isApart = Math.abs(secondDpt - firstDpt) > Math.max(apartHalfWidths * halfWidthDpt, apartSigmas * std);
    if (isApart && common < mostCommon) return { firstDpt, secondDpt, isSure: false };
  }
  return null;
}

/** What the frames show of a quarter of the region. */
interface Quarter {
  spectra: RingSpectrum[];
  noiseDn2: number;
  /** Fine detail in each frame. */
  details: Detail[];
}

/**
 * Two powers of which one quarter is sharper at the first, the other at the second: one plane at one distance puts the frames
 * in the same order of sharpness everywhere.
 */
function sharperElsewhere({
  one,
  other,
  powersDpt,
  leastApartDpt,
}: {
  one: Quarter;
  other: Quarter;
  powersDpt: readonly number[];
  leastApartDpt: number;
}): { firstDpt: number; secondDpt: number } | null {
  const isSharper = ({ details }: Quarter, here: number, there: number): boolean => {
    const [more, less] = [details[here]!, details[there]!];
    if (more.measure < leastOfSharpest * Math.max(...details.map(({ measure }) => measure))) return false;
    const surplus = more.measure - clearlySharper * less.measure;
    return surplus > sharperSigmas * Math.hypot(more.measureStd, clearlySharper * less.measureStd);
  };
  for (const [i, firstDpt] of powersDpt.entries()) {
    for (const [j, secondDpt] of powersDpt.entries()) {
      if (Math.abs(firstDpt - secondDpt) < leastApartDpt) continue;
      if (isSharper(one, i, j) && isSharper(other, j, i)) return { firstDpt, secondDpt };
    }
  }
  return null;
}

const noiseOf = (spectra: readonly RingSpectrum[]): number =>
  Math.max(1 / 12, Math.min(...spectra.map(({ powersDn2 }) => powersDn2.at(-1)!)));
