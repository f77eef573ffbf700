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
const apartSigmas = 5;
/** Probability that may be left for a common focus, so close to the surer quarter's. */
const mostCommon = 0.05;
const commonHalfWidths = 1.5;
/** A frame this close to a focus, in half-widths, shows whether it is one: by this ratio of detail. */
const seenWithin = 1.5;
const clearlySharper = 1.2;
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
  frames: readonly { image: GreyImage; powersDpt: readonly number[]; play: PlayOfFrame | null }[];
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
  const answers: QuarterAnswer[] = [];
  for (const xPx of [region.xPx, region.xPx + widthPx]) {
    for (const yPx of [region.yPx, region.yPx + heightPx]) {
      const spectra = frames.map(({ image }) => measure(image, { xPx, yPx }));
      const noiseDn2 = noiseOf(spectra);
      if (!spectra.some((s) => detailOf({ ...s, noiseDn2, rings }).significanceRatio > leastSignificance)) continue;
      const believed = frames.map(({ powersDpt, play }, k) => ({
        focalPowersDpt: powersDpt,
        play,
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
        details: spectra.map((s) => detailOf({ ...s, noiseDn2, rings }).measure),
      });
    }
  }
  answers.sort((a, b) => b.estimate.probabilityInFocus - a.estimate.probabilityInFocus);
  const [surest] = answers;
  if (process.env.FW_DEBUG) console.log('planes', frames.map(f=>f.powersDpt.map(x=>x.toFixed(2)).join('/')), answers.map(a=>`${a.estimate.focalPowerDpt.toFixed(3)}±${a.estimate.focalPowerStdDpt.toFixed(3)} p${a.estimate.probabilityInFocus.toFixed(2)} [${a.details.map(d=>d.toExponential(2)).join(' ')}]`));
  if (surest === undefined || surest.estimate.probabilityInFocus < surelyAt) return null;
  const first = surest.estimate;
  const { focalPowerDpt: firstDpt, halfWidthDpt } = first;
  const powersDpt = frames.map(({ powersDpt: powers }) => powers[powers.length >> 1]!);
  for (const answer of answers.slice(1)) {
    const { belief, estimate } = answer;
    const common = belief.reduce(
      (sum, h) => (Math.abs(h.bestFocusDpt - firstDpt) < commonHalfWidths * halfWidthDpt ? sum + h.probability : sum),
      0,
    );
    const { focalPowerDpt: secondDpt, probabilityInFocus } = estimate;
    const std = Math.hypot(first.focalPowerStdDpt, estimate.focalPowerStdDpt);
    const isApart = Math.abs(secondDpt - firstDpt) > Math.max(apartHalfWidths * halfWidthDpt, apartSigmas * std);
    if (!isApart || common >= mostCommon) continue;
    const seen = looksApart({ powersDpt, surest, answer, limits, withinDpt: seenWithin * halfWidthDpt });
    if (seen === 'no') continue;
    return { firstDpt, secondDpt, isSure: seen === 'yes' && probabilityInFocus > surelyAt };
  }
  return null;
}

/** What the frames say of a quarter of the region. */
interface QuarterAnswer {
  belief: FocusBelief;
  estimate: FocusEstimate;
  /** Detail in each frame. */
  details: number[];
}

/** Whether each quarter is sharper in the frame next to its own focus; unseen while no frame is near one of them. */
function looksApart({
  powersDpt,
  surest,
  answer,
  limits,
  withinDpt,
}: {
  powersDpt: readonly number[];
  surest: QuarterAnswer;
  answer: QuarterAnswer;
  limits: { powerMinDpt: number; powerMaxDpt: number };
  withinDpt: number;
}): 'yes' | 'no' | 'unseen' {
  const nearest = ({ estimate: { focalPowerDpt } }: QuarterAnswer): number | null => {
    const heldDpt = Math.min(limits.powerMaxDpt, Math.max(limits.powerMinDpt, focalPowerDpt));
    const offs = powersDpt.map((dpt) => Math.abs(dpt - heldDpt));
    const least = Math.min(...offs);
    return least <= withinDpt ? offs.indexOf(least) : null;
  };
  const [own, other] = [nearest(surest), nearest(answer)];
  if (own === null || other === null || own === other) return 'unseen';
  const isSharper = ({ details }: QuarterAnswer, here: number, there: number) =>
    details[here]! > clearlySharper * details[there]!;
  return isSharper(surest, own, other) && isSharper(answer, other, own) ? 'yes' : 'no';
}

const noiseOf = (spectra: readonly RingSpectrum[]): number =>
  Math.max(1 / 12, Math.min(...spectra.map(({ powersDn2 }) => powersDn2.at(-1)!)));
