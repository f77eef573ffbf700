import { choleskyFactor, choleskyInverse, choleskySolve } from '../../base/index.js';
import { type EdgeBlur, type EdgeTables, tabulateEdge } from '../edge/edge-model.js';
import type { FittedTriplet } from './fit-triplet.js';
import { tripletAt, tripletTerms } from './triplet-model.js';
import type { TripletPatch } from './triplet-patch.js';

/** Half of the bars' length that counts, in bar widths: the ends are left out. */
const middlePart = 1.5;
const n = 4;

/** Profile across the bars with the blur of a lens: disc ∗ Gaussian ∗ pixel. Level and step in parts of the Gaussian fit's step. */
export interface BarProfile {
  blur: EdgeBlur;
  level: number;
  step: number;
  /** Covariance of level, step, disc² and Gaussian² (row-major), misfit included. */
  covariance: Float64Array;
}

interface Sample {
  uPx: number;
  /** (grey − ground plane) / step of the Gaussian fit. */
  share: number;
  weight: number;
}

/** Share of bar under an edge's tables, at a distance across, and its derivatives by disc² and Gaussian². */
export function shareUnder(
  tables: EdgeTables,
  barWidthPx: number,
  uPx: number,
): [share: number, byDisc: number, byGauss: number] {
  const { esf, byDisc, byGauss, stepPx, size } = tables;
  let [a, b, c] = [0, 0, 0];
  for (let e = 0; e < 6; e++) {
    const sign = e & 1 ? -1 : 1;
    const place = (uPx - (e - 2.5) * barWidthPx) / stepPx + size / 2;
    const i = Math.max(0, Math.min(size - 2, Math.floor(place)));
    const t = Math.max(0, Math.min(1, place - i));
    a += sign * (esf[i]! + t * (esf[i + 1]! - esf[i]!));
    b += sign * (byDisc[i]! + t * (byDisc[i + 1]! - byDisc[i]!));
    c += sign * (byGauss[i]! + t * (byGauss[i + 1]! - byGauss[i]!));
  }
  return [a, b, c];
}

/** Tables wide enough for three bars; blockPx is the averaging of the samples, 1 for the picture itself. */
export function barTables(blur: EdgeBlur, barWidthPx: number, stdPx: number, blockPx: number): EdgeTables {
  const stepPx = Math.max(stdPx / 16, 1 / 32);
  const size = 2 ** Math.ceil(Math.log2((12 * barWidthPx + 10 * stdPx + 4) / stepPx));
  return tabulateEdge({ ...blur, gaussPx2: blur.gaussPx2 + (blockPx ** 2 - 1) / 12 }, stepPx, size);
}

/**
 * Fits how much of the blur is a disc and how much a Gaussian, from the middle part of the bars. The Gaussian fit reads the
 * contrast of bars behind a blur disc up to 0.06 low.
 *
 * Returns  null where the blur is too small against the bars to matter, or too large to be told
 */
export function refineBlur({ model, misfit }: FittedTriplet, patch: TripletPatch): BarProfile | null {
  const w = model.barWidthPx;
  if (model.blurPx < 0.16 * w) return null;
  const samples = middleSamples(model, patch);
  const variance = Math.max(0.02, model.blurPx ** 2 - (patch.blockPx ** 2 - 1) / 12 - 1 / 12);
  let profile = { level: 0, step: 1, discPx2: 2 * variance, gaussPx2: variance / 2 };
  const sizes = [0.1, 0.15, 4 * variance, variance];
  for (let round = 0; ; round++) {
    const blur = { diffractionPx: 0, discPx2: profile.discPx2, gaussPx2: profile.gaussPx2, tiltRad: 0 };
    const tables = barTables(blur, w, model.blurPx, patch.blockPx);
    const normal = new Float64Array(n * n);
    const right = new Float64Array(n);
    for (const { uPx, share, weight } of samples) {
      const [bar, byDisc, byGauss] = shareUnder(tables, w, uPx);
      const residual = share - profile.level - profile.step * bar;
      const slopes = [1, bar, profile.step * byDisc, profile.step * byGauss];
      for (let a = 0; a < n; a++) {
        right[a] = right[a]! + weight * slopes[a]! * residual;
        for (let b = 0; b < n; b++) normal[a * n + b] = normal[a * n + b]! + weight * slopes[a]! * slopes[b]!;
      }
    }
    const off = [profile.level, profile.step - 1, 0, 0];
    for (let a = 0; a < n; a++) {
      const precision = 1 / sizes[a]! ** 2;
      normal[a * n + a] = normal[a * n + a]! + precision;
      right[a] = right[a]! - precision * off[a]!;
    }
    const factor = choleskyFactor(normal, n);
    if (!factor) return null;
    if (round === 6) {
      const covariance = choleskyInverse(factor, n).map((value) => value * misfit);
      return { blur, level: profile.level, step: profile.step, covariance };
    }
    const change = bounded(normal, right, factor, profile);
    profile = {
      level: profile.level + change[0]!,
      step: profile.step + change[1]!,
      discPx2: Math.max(0, profile.discPx2 + change[2]!),
      gaussPx2: Math.max(0, profile.gaussPx2 + change[3]!),
    };
  }
}

/** A step that keeps disc and Gaussian from falling below zero: what would is moved to zero, and the rest solved again. */
function bounded(
  normal: Float64Array,
  right: Float64Array,
  factor: Float64Array,
  { discPx2, gaussPx2 }: { discPx2: number; gaussPx2: number },
): Float64Array {
  const change = choleskySolve(factor, n, right);
  for (const [term, value] of [
    [2, discPx2],
    [3, gaussPx2],
  ] as const) {
    if (change[term]! >= -value) continue;
    const held = normal.slice();
    const target = right.slice();
    for (let a = 0; a < n; a++) {
      target[a] = target[a]! + normal[a * n + term]! * value;
      held[a * n + term] = held[term * n + a] = 0;
    }
    held[term * n + term] = 1;
    target[term] = -value;
    const again = choleskyFactor(held, n);
    return again ? choleskySolve(again, n, target) : change;
  }
  return change;
}

function middleSamples(model: FittedTriplet['model'], patch: TripletPatch): Sample[] {
  const slopes = new Float64Array(tripletTerms.length);
  const samples: Sample[] = [];
  for (let i = 0; i < patch.count; i++) {
    const du = patch.u[i]! - model.u0;
    const dv = patch.v[i]! - model.v0;
    const uPx = du + model.turnRad * dv;
    if (Math.abs(dv - model.turnRad * du) > middlePart * model.barWidthPx) continue;
    const whole = tripletAt(model, patch.u[i]!, patch.v[i]!, slopes);
    // What the bars add to the ground plane: the whole less the ground, seen from the fitted share.
    const share = slopes[3]! + (patch.grey[i]! - whole) / model.stepDn;
    samples.push({ uPx, share, weight: model.stepDn ** 2 / patch.varianceDn2[i]! });
  }
  return samples;
}
