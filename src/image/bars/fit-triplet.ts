import { choleskyFactor, choleskyInverse, choleskySolve } from '../../base/index.js';
import { type TripletModel, tripletAt, tripletTerms } from './triplet-model.js';
import type { TripletPatch } from './triplet-patch.js';

/** A fitted triplet, and how well it explains the patch. */
export interface FittedTriplet {
  model: TripletModel;
  /** Share of the structure (variance beyond noise) that three bars explain, ≤ 1. */
  explained: number;
  /** χ² per sample. */
  misfit: number;
  /** Standard deviations by name of term, misfit included. */
  std: TripletModel;
}

const n = tripletTerms.length;

/** Blur that is expected, with its standard deviation. */
export interface ExpectedBlur {
  blurPx: number;
  stdPx: number;
}

/** Fits three blurred bars by damped least squares; null where it does not settle on three bars of about the size begun with. */
export function fitTriplet(patch: TripletPatch, start: TripletModel, expected?: ExpectedBlur): FittedTriplet | null {
  let model = start;
  let sums = normalEquations(patch, model, expected);
  let damping = 1e-3;
  for (let round = 0; round < 25; round++) {
    const damped = sums.normal.slice();
    for (let a = 0; a < n; a++) damped[a * n + a] = damped[a * n + a]! * (1 + damping) + 1e-12;
    const factor = choleskyFactor(damped, n);
    if (!factor) return null;
    const next = within(moved(model, choleskySolve(factor, n, sums.right)), start);
    const tried = normalEquations(patch, next, expected);
    if (tried.chiSquare <= sums.chiSquare) {
      const gain = sums.chiSquare - tried.chiSquare;
      model = next;
      sums = tried;
      damping = Math.max(1e-6, damping / 5);
      if (gain < 1e-4 * sums.chiSquare + 0.01) break;
    } else {
      damping *= 8;
      if (damping > 1e4) break;
    }
    // A shape that is no triplet is given up early.
    if (round === 3 && explainedShare(patch, sums.chiSquare) < 0.3) return null;
  }
  const ratio = model.barWidthPx / start.barWidthPx;
  if (ratio < 0.6 || ratio > 1.6 || Math.sign(model.stepDn) !== Math.sign(start.stepDn)) return null;
  const factor = choleskyFactor(sums.normal, n);
  if (!factor) return null;
  const misfit = Math.max(1, sums.chiSquare / Math.max(1, patch.count - n));
  const covariance = choleskyInverse(factor, n);
  const std = { ...model };
  tripletTerms.forEach((term, a) => {
    std[term] = Math.sqrt(misfit * covariance[a * n + a]!);
  });
  return { model, explained: explainedShare(patch, sums.chiSquare), misfit, std };
}

function moved(model: TripletModel, change: Float64Array): TripletModel {
  const next = { ...model };
  tripletTerms.forEach((term, a) => {
    next[term] += change[a]!;
  });
  return next;
}

/** Keeps a step inside what can be a triplet. */
function within(model: TripletModel, start: TripletModel): TripletModel {
  const clamp = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value));
  const w = start.barWidthPx;
  return {
    ...model,
    u0: clamp(model.u0, -1.5 * w, 1.5 * w),
    v0: clamp(model.v0, -3 * w, 3 * w),
    turnRad: clamp(model.turnRad, -0.35, 0.35),
    barWidthPx: clamp(model.barWidthPx, 0.5 * w, 2 * w),
    lengthRatio: clamp(model.lengthRatio, 0.4, 2.5),
    blurPx: clamp(model.blurPx, 0.15, 1.2 * w),
  };
}

function explainedShare({ count, grey, varianceDn2 }: TripletPatch, chiSquare: number): number {
  let weight = 0;
  let mean = 0;
  for (let i = 0; i < count; i++) {
    weight += 1 / varianceDn2[i]!;
    mean += grey[i]! / varianceDn2[i]!;
  }
  mean /= weight;
  let total = 0;
  for (let i = 0; i < count; i++) total += (grey[i]! - mean) ** 2 / varianceDn2[i]!;
  return total <= 1.2 * count ? 0 : 1 - Math.max(0, chiSquare - count) / (total - count);
}

function normalEquations(
  { count, u, v, grey, varianceDn2 }: TripletPatch,
  model: TripletModel,
  expected: ExpectedBlur | undefined,
) {
  const normal = new Float64Array(n * n);
  const right = new Float64Array(n);
  const slopes = new Float64Array(n);
  let chiSquare = 0;
  for (let i = 0; i < count; i++) {
    const residual = grey[i]! - tripletAt(model, u[i]!, v[i]!, slopes);
    const weight = 1 / varianceDn2[i]!;
    chiSquare += weight * residual * residual;
    for (let a = 0; a < n; a++) {
      const wa = weight * slopes[a]!;
      right[a] = right[a]! + wa * residual;
      for (let b = 0; b <= a; b++) normal[a * n + b] = normal[a * n + b]! + wa * slopes[b]!;
    }
  }
  if (expected) {
    const off = (expected.blurPx - model.blurPx) / expected.stdPx;
    chiSquare += off * off;
    right[n - 1] = right[n - 1]! + off / expected.stdPx;
    normal[n * n - 1] = normal[n * n - 1]! + 1 / expected.stdPx ** 2;
  }
  for (let a = 0; a < n; a++) for (let b = 0; b < a; b++) normal[b * n + a] = normal[a * n + b]!;
  return { normal, right, chiSquare };
}
