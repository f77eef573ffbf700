import { bandCount } from './band-energies.js';
import { bandNoise } from './band-noise.js';
import type { ThroughFocusModel } from './through-focus-model.js';
import { windowAreaPx2 } from './window-energies.js';

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

/** Share of the peak by which a curve may leave the predicted one: other textures, tilted windows. */
const curveError = 0.05;
/** χ² that a peak must win over a flat line. */
const flatBelow = 40;
/** A second peak counts from this share of what the first explains. */
const secondPeakShare = 0.5;
/** Residual, as a share of the peak, from which the curve is not the predicted one. */
const poorFitAbove = 0.25;
/** Trial values that lie between two separate peaks at least, in steps of the sweep. */
const apartSteps = 2;

/**
 * Best focus of each window: the predicted through-focus curves of all bands fitted together.
 *
 * Model    energy = noise floor + a · curve(best focus), a free for each band, the floor free within what the noise model
 *          says ± 10 % and 5 % of the peak; all trial values, then a parabola through χ² at the best three
 * Input    per band one map per frame (`energies[band][frame]`), at the reference frame's scale; `noiseVarianceDn2` per
 *          window, of a single pixel
 * Returns  see BestFocusMap; the standard deviation from the curvature of χ², scaled up where the fit is worse than stated
 * Trust    where the window holds two depths the peaks may merge into one between them: its residual then grows.
 * Checked  recovery: curves of the model itself with noise, coverage of 2 σ, tests/image/stack/fit-best-focus.test.ts
 */
export function fitBestFocus({
  energies,
  noiseVarianceDn2,
  blockPx,
  model,
  from = 0,
  to = noiseVarianceDn2.length,
}: {
  energies: readonly (readonly Float32Array[])[];
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
  const sums = model.curves.map((curve) => curveSums(curve, candidates, frames));
  const energy = new Float64Array(frames);
  const explained = new Float64Array(candidates);
  const stepDpt = model.candidatesDpt[1]! - model.candidatesDpt[0]!;
  const steps = Math.round((candidates - 1) / Math.max(1, distinctCount(model.focalPowersDpt) + 1));
  for (let window = from; window < to; window++) {
    explained.fill(0);
    let nullChi2 = 0;
    let weightedPeak2 = 0;
    for (let band = 0; band < bandCount; band++) {
      const floor = noise[band]!.gain * noiseVarianceDn2[window]!;
      let sum = 0;
      let squares = 0;
      let top = 0;
      for (let i = 0; i < frames; i++) {
        const value = energies[band]![i]![window]! - floor;
        energy[i] = value;
        sum += value;
        squares += value * value;
        top = Math.max(top, value);
      }
      const independent = Math.max(4, area * noise[band]!.independentPerPx2);
      const variance = (2 / independent) * (floor ** 2 + (2 * floor * Math.max(0, sum)) / frames) + (curveError * top) ** 2;
      if (!(variance > 0)) continue;
      const floorWeight = variance / ((0.1 * floor) ** 2 + (curveError * top) ** 2);
      nullChi2 += (squares - (sum * sum) / (frames + floorWeight)) / variance;
      weightedPeak2 += (frames * top ** 2) / variance;
      const curve = model.curves[band]!;
      const { once, twice } = sums[band]!;
      for (let j = 0; j < candidates; j++) {
        let product = 0;
        const at = j * frames;
        for (let i = 0; i < frames; i++) product += energy[i]! * curve[at + i]!;
        const n = frames + floorWeight;
        const covariance = product - (once[j]! * sum) / n;
        const spread = twice[j]! - once[j]! ** 2 / n;
        if (covariance > 0 && spread > 1e-9) explained[j] = explained[j]! + covariance ** 2 / spread / variance;
      }
    }
    const at = window - from;
    const judged = judge(explained, nullChi2, weightedPeak2, bandCount * (frames - 1) - 1, steps);
    map.refusals[at] = focusRefusals.indexOf(judged.reason);
    if (judged.reason !== 'found') continue;
    map.bestFocusDpt[at] = model.candidatesDpt[0]! + judged.place * stepDpt;
    map.bestFocusStdDpt[at] = judged.placeStd * stepDpt;
  }
  return map;
}

function curveSums(curve: Float32Array, candidates: number, frames: number) {
  const once = new Float64Array(candidates);
  const twice = new Float64Array(candidates);
  for (let j = 0; j < candidates; j++) {
    for (let i = 0; i < frames; i++) {
      const value = curve[j * frames + i]!;
      once[j] = once[j]! + value;
      twice[j] = twice[j]! + value * value;
    }
  }
  return { once, twice };
}

const distinctCount = (powers: readonly number[]): number => new Set(powers).size;

/** Reads the peak of the explained χ², with its uncertainty, or says why there is none. */
function judge(
  explained: Float64Array,
  nullChi2: number,
  weightedPeak2: number,
  freedom: number,
  perStep: number,
): { reason: FocusRefusalReason; place: number; placeStd: number } {
  const last = explained.length - 1;
  let best = 0;
  for (let j = 1; j <= last; j++) if (explained[j]! > explained[best]!) best = j;
  const none = (reason: FocusRefusalReason) => ({ reason, place: Number.NaN, placeStd: Number.NaN });
  const residual = Math.max(0, nullChi2 - explained[best]!);
  const scale = Math.max(1, residual / freedom);
  if (!(explained[best]! > flatBelow * scale)) return none('flat');
  // The sweep itself reaches from one step inside the first candidate to one inside the last.
  if (best <= perStep || best >= last - perStep) return none('at-end');
  if (hasSecondPeak(explained, best, perStep)) return none('multiple');
  if (Math.sqrt(residual / Math.max(weightedPeak2, 1e-300)) > poorFitAbove) return none('poor-fit');
  const [a, b, c] = [explained[best - 1]!, explained[best]!, explained[best + 1]!];
  const curvature = 2 * b - a - c;
  if (!(curvature > 0)) return none('flat');
  return { reason: 'found', place: best + (c - a) / (2 * curvature), placeStd: Math.sqrt((2 / curvature) * scale) };
}

/** A rise of at least half the first peak's height, after a dip, at least two steps of the sweep away. */
function hasSecondPeak(explained: Float64Array, best: number, perStep: number): boolean {
  const top = explained[best]!;
  for (const direction of [-1, 1]) {
    let lowest = top;
    for (let j = best; j >= 0 && j < explained.length; j += direction) {
      const value = explained[j]!;
      lowest = Math.min(lowest, value);
      const apart = Math.abs(j - best) >= apartSteps * perStep;
      if (apart && value > secondPeakShare * top && value - lowest > 0.2 * top) return true;
    }
  }
  return false;
}
