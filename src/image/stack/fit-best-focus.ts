import { bandCount } from './band-energies.js';
import { bandNoise } from './band-noise.js';
import { candidatesPerStep, type ThroughFocusModel } from './through-focus-model.js';
import { windowAreaPx2 } from './window-energies.js';
import { type WindowPeaks, windowPeaks } from './window-peaks.js';

/** Why a window has no best focus. Order = code in `refusals`, 0 = found. */
export const focusRefusals = ['found', 'flat', 'at-end', 'multiple', 'poor-fit', 'saturated', 'edge'] as const;
export type FocusRefusalReason = (typeof focusRefusals)[number];

/** Best focus of every window. */
export interface BestFocusMap {
  /** NaN where refused. */
  bestFocusDpt: Float32Array;
  bestFocusStdDpt: Float32Array;
  /** Index into focusRefusals. */
  refusals: Uint8Array;
}

/** χ² that a peak must win over a flat line. */
const flatBelow = 40;
/** A second peak counts from this share of what the first explains. */
const secondPeakShare = 0.5;
/** Residual, as a share of the peak, from which the curve is not the predicted one. */
const poorFitAbove = 0.25;
/** Of the trial values only these are all tried; around the best one its neighbours too. */
const coarseStep = 4;
/** Trial values that lie between two separate peaks at least, in steps of the sweep. */
const apartSteps = 2;

/**
 * Best focus of each window: the predicted through-focus curves of all bands fitted together.
 *
 * Model    energy = noise floor + a · curve(best focus), a free for each band, the floor free within what the noise model
 *          says ± 10 % and 5 % of the peak; all trial values, then a parabola through χ² at the best three
 * Input    per band one map per frame (`energies[band][frame]`), at the reference frame's scale, to be multiplied by the frame's
 *          factor; `noiseVarianceDn2` per window, of a single pixel
 * Returns  see BestFocusMap; the standard deviation from the curvature of χ², scaled up where the fit is worse than stated
 * Trust    where the window holds two depths the peaks may merge into one between them: its residual then grows.
 * Checked  with the whole height map alone, coverage of 2 σ too: tests/image/stack/height-map.test.ts
 */
export function fitBestFocus({
  energies,
  factors,
  noiseVarianceDn2,
  blockPx,
  model,
  from = 0,
  to = noiseVarianceDn2.length,
}: {
  energies: readonly (readonly Float32Array[])[];
  factors: Float32Array;
  noiseVarianceDn2: Float32Array;
  blockPx: number;
  model: ThroughFocusModel;
  /** First window, and the one behind the last: to share the work. */
  from?: number;
  to?: number;
}): BestFocusMap {
  const frames = model.focalPowersDpt.length;
  const candidates = model.candidatesDpt.length;
  const count = to - from;
  const map: BestFocusMap = {
    bestFocusDpt: new Float32Array(count).fill(Number.NaN),
    bestFocusStdDpt: new Float32Array(count).fill(Number.NaN),
    refusals: new Uint8Array(count),
  };
  const noise = bandNoise();
  const area = windowAreaPx2(blockPx);
  const stepDpt = model.candidatesDpt[1]! - model.candidatesDpt[0]!;
  const peaks = windowPeaks({ curves: model.curves, factors, frames, candidates });
  const bands = Array.from({ length: bandCount }, () => ({ nullChi2: 0, weightedPeak2: 0 }));
  const coarseCount = Math.floor((candidates - 1) / coarseStep) + 1;
  for (let window = from; window < to; window++) {
    let nullChi2 = 0;
    let weightedPeak2 = 0;
    for (let k = 0; k < bandCount; k++) {
      const floor = noise[k]!.gain * noiseVarianceDn2[window]!;
      const independent = Math.max(4, area * noise[k]!.independentPerPx2);
      peaks.take(k, energies[k]!, window, floor, independent, bands[k]!);
      nullChi2 += bands[k]!.nullChi2;
      weightedPeak2 += bands[k]!.weightedPeak2;
    }
    const explained = peaks.explained({ first: 0, step: coarseStep, count: coarseCount });
    const at = window - from;
    const freedom = bandCount * (frames - 1) - 1;
    const judged = judge({ explained, nullChi2, weightedPeak2, freedom, peaks });
    map.refusals[at] = focusRefusals.indexOf(judged.reason);
    if (judged.reason !== 'found') continue;
    map.bestFocusDpt[at] = model.candidatesDpt[0]! + judged.place * stepDpt;
    map.bestFocusStdDpt[at] = judged.placeStd * stepDpt;
  }
  return map;
}

/** Reads the peak of the explained χ², with its uncertainty, or says why there is none. */
function judge({
  explained,
  nullChi2,
  weightedPeak2,
  freedom,
  peaks,
}: {
  /** Of every coarseStep-th candidate. */
  explained: Float32Array;
  nullChi2: number;
  weightedPeak2: number;
  freedom: number;
  peaks: WindowPeaks;
}): { reason: FocusRefusalReason; place: number; placeStd: number } {
  const none = (reason: FocusRefusalReason) => ({ reason, place: Number.NaN, placeStd: Number.NaN });
  const last = explained.length - 1;
  let coarse = 0;
  for (let c = 1; c <= last; c++) if (explained[c]! > explained[coarse]!) coarse = c;
  const residual = Math.max(0, nullChi2 - explained[coarse]!);
  const scale = Math.max(1, residual / freedom);
  if (!(explained[coarse]! > flatBelow * scale)) return none('flat');
  // The sweep itself reaches from one step inside the first candidate to one inside the last.
  const margin = candidatesPerStep / coarseStep;
  if (coarse <= margin || coarse >= last - margin) return none('at-end');
  if (hasSecondPeak(explained, coarse)) return none('multiple');
  if (Math.sqrt(residual / Math.max(weightedPeak2, Number.MIN_VALUE)) > poorFitAbove) return none('poor-fit');
  const first = coarse * coarseStep - coarseStep;
  const fine = peaks.explained({ first, step: 1, count: 2 * coarseStep + 1 });
  let best = coarseStep;
  for (let j = 1; j < 2 * coarseStep; j++) if (fine[j]! > fine[best]!) best = j;
  const [below, middle, above] = [fine[best - 1]!, fine[best]!, fine[best + 1]!];
  const curvature = 2 * middle - below - above;
  if (!(curvature > 0)) return none('flat');
  return {
    reason: 'found',
    place: first + best + (above - below) / (2 * curvature),
    placeStd: Math.sqrt((2 / curvature) * scale),
  };
}

/** A rise of at least half the first peak's height, after a dip, at least two steps of the sweep away. */
function hasSecondPeak(explained: Float32Array, best: number): boolean {
  const top = explained[best]!;
  for (const direction of [-1, 1]) {
    let lowest = top;
    for (let c = best; c >= 0 && c < explained.length; c += direction) {
      const value = explained[c]!;
      lowest = Math.min(lowest, value);
      const apart = Math.abs(c - best) * coarseStep >= apartSteps * candidatesPerStep;
      if (apart && value > secondPeakShare * top && value - lowest > 0.2 * top) return true;
    }
  }
  return false;
}
