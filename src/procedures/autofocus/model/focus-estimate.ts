import { normalProbabilityWithin } from '../../../base/index.js';
import type { FocusPosterior } from '../../../station/index.js';
import type { FocusBelief, FocusHypothesis } from './focus-belief.js';
import type { CompleteFocusOptics } from './focus-optics.js';

/** The best answer that a belief allows. */
export interface FocusEstimate {
  focalPowerDpt: number;
  focalPowerStdDpt: number;
  blurRadiusPerDptPx: number;
  sphericalWaves: number;
  asymmetryPerDpt: number;
  halfWidthDpt: number;
  /** Probability that best focus lies within half of the half-width. */
  probabilityInFocus: number;
}

const candidates = 24;

/**
 * Power with the largest probability of focus, and its uncertainty.
 *
 * Model    the belief’s cells, each smeared by its size and by what aberrations add; the mean over the best half-width
 */
export function estimateFocus(
  belief: FocusBelief,
  {
    halfWidthPx,
    systematicPx,
    optics: { slopeRatio },
  }: { halfWidthPx: number; systematicPx: number; optics: Pick<CompleteFocusOptics, 'slopeRatio'> },
): FocusEstimate {
  /** Blur per dioptre about a best focus. */
  const slope = ({ bestFocusDpt, blurRadiusPerDptPx }: FocusHypothesis) =>
    blurRadiusPerDptPx * (slopeRatio === null ? 1 : slopeRatio({ focalPowerDpt: bestFocusDpt, bestFocusDpt }));
  const inFocus = (dpt: number) =>
    belief.reduce((sum, hypothesis) => {
      const { bestFocusDpt, probability, cellDpt } = hypothesis;
      const slopePxPerDpt = slope(hypothesis);
      const reach = halfWidthPx / slopePxPerDpt / 2;
      const off = bestFocusDpt - dpt;
      const std = Math.hypot(systematicPx / slopePxPerDpt, cellDpt / Math.sqrt(12));
      if (Math.abs(off) > reach + 5 * std) return sum;
      return sum + probability * normalProbabilityWithin({ low: -reach - off, high: reach - off, std });
    }, 0);
  let best = belief[0]!;
  let bestProbability = 0;
  for (const hypothesis of belief.slice(0, candidates)) {
    const probability = inFocus(hypothesis.bestFocusDpt);
    if (probability > bestProbability) {
      best = hypothesis;
      bestProbability = probability;
    }
  }
  const halfWidthDpt = halfWidthPx / slope(best);
  const close = belief.filter(({ bestFocusDpt }) => Math.abs(bestFocusDpt - best.bestFocusDpt) < 2 * halfWidthDpt);
  const mass = close.reduce((sum, { probability }) => sum + probability, 0);
  const mean = close.reduce((sum, h) => sum + h.probability * h.bestFocusDpt, 0) / mass;
  const variance = close.reduce(
    (sum, h) => sum + (h.probability / mass) * ((h.bestFocusDpt - mean) ** 2 + h.cellDpt ** 2 / 12),
    0,
  );
  return {
    focalPowerDpt: mean,
    focalPowerStdDpt: Math.hypot(Math.sqrt(variance), systematicPx / slope(best)),
    blurRadiusPerDptPx: close.reduce((sum, h) => sum + h.probability * h.blurRadiusPerDptPx, 0) / mass,
    sphericalWaves: close.reduce((sum, h) => sum + h.probability * h.sphericalWaves, 0) / mass,
    asymmetryPerDpt: close.reduce((sum, h) => sum + h.probability * h.asymmetryPerDpt, 0) / mass,
    halfWidthDpt,
    probabilityInFocus: inFocus(mean),
  };
}

const bins = 160;

/** The belief as a density over focal power, for a figure. */
export function posteriorOf(belief: FocusBelief, limits: { powerMinDpt: number; powerMaxDpt: number }): FocusPosterior {
  const ends = belief.flatMap((h) => [h.bestFocusDpt - h.cellDpt / 2, h.bestFocusDpt + h.cellDpt / 2]);
  const low = Math.min(limits.powerMinDpt, ...ends);
  const high = Math.max(limits.powerMaxDpt, ...ends);
  const step = (high - low) / bins;
  const masses = new Array<number>(bins).fill(0);
  for (const { bestFocusDpt, cellDpt, probability } of belief) {
    const from = bestFocusDpt - cellDpt / 2;
    for (let bin = Math.floor((from - low) / step); bin < bins && low + bin * step < from + cellDpt; bin++) {
      if (bin < 0) continue;
      const covered = Math.min(low + (bin + 1) * step, from + cellDpt) - Math.max(low + bin * step, from);
      masses[bin]! += probability * Math.max(0, covered / cellDpt);
    }
  }
  return {
    focalPowersDpt: masses.map((_, i) => low + (i + 0.5) * step),
    densitiesPerDpt: masses.map((mass) => mass / step),
  };
}
