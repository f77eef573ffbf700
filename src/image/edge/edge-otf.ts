import { choleskyFactor, choleskyInverse, choleskySolve } from '../../base/index.js';
import { blurOtf, blurVariancePx2 } from './edge-model.js';
import type { FittedEdge } from './fit-edge.js';
import { hermiteFunctions } from './hermite.js';
import { type ResidualSums, sampleWeights } from './residual-pass.js';

/** Free terms beside the departure: both levels, disc, Gaussian, place, both light gradients, diffraction. */
const freeTerms = 8;
/** Hermite functions that describe how the edge departs from disc ∗ Gaussian ∗ pixel. */
const departureTerms = 18;
const terms = freeTerms + departureTerms;
/** Diffraction too weak to be seen is allowed for with this standard deviation. */
const diffractionStdPx = 0.01;
/** Each further Hermite function is expected to be smaller by this factor. */
const decay = 0.85;
/** Expected size of the departure in parts of the edge's height: tried in turn, weighted by evidence. */
const departureSizes = [3e-4, 1e-3, 2.5e-3, 6e-3, 1.5e-2, 4e-2];

/** What interpolation and discrete edge phases leave in noise-free edges. */
const numericalStd = 3e-4;

/** The optical transfer function that an edge supports. */
export interface EdgeOtf {
  /** Modulus and its standard deviation at a frequency along the edge's normal. */
  at(frequencyPerPx: number): { value: number; std: number };
  /** The modulus alone, for searches. */
  valueAt(frequencyPerPx: number): number;
  /** Fitted edge spread function minus the model's, per grid bin, in parts of the edge's height. */
  departure: Float64Array;
}

/**
 * OTF of a fitted edge: the model's, plus the departure the residuals support.
 *
 * Model    ESF = model(disc, Gaussian, place) + Σ c_n ψ_n(d/w), c_n ~ N(0, (size·decayⁿ)²). The size is not known: several
 *          are tried and averaged by their evidence (marginal likelihood), so that noise alone adds nothing and a real
 *          departure is followed. OTF(f) = OTF_model + 2πif·w·√(2π)·Σ c_n (−i)ⁿ ψ_n(2πfw).
 */
export function edgeOtf(edge: FittedEdge): EdgeOtf {
  const { blur, tables, levels, sums } = edge;
  const swing = levels.brightDn - levels.darkDn;
  const width = Math.sqrt(blurVariancePx2(blur) + 0.25);
  const { normal, right, columns, weights } = normalEquations(edge, width);
  const spare = blurVariancePx2(blur) / 2;
  const fits: Fit[] = [];
  for (const size of departureSizes) {
    const fit = fitWith(normal, right, { spare, diffractionStd: blur.diffractionPx > 0 ? 1 : diffractionStdPx, size });
    if (fit) fits.push(fit);
  }
  const best = Math.max(...fits.map((fit) => fit.logEvidence));
  const likely = fits.filter((fit) => fit.logEvidence > best - 4);
  const total = likely.reduce((sum, fit) => sum + Math.exp(fit.logEvidence - best), 0);
  const weighted = likely.map((fit) => ({ ...fit, share: Math.exp(fit.logEvidence - best) / total }));
  const misfit = misfitOf(sums, columns, weights, weighted[0]!.solution);

  /** Real and imaginary part for one of the fits, after gradients() for that frequency. */
  const otfOf = (solution: Float64Array, model: number): [re: number, im: number] => {
    let x = model;
    let y = 0;
    for (let k = 2; k < terms; k++) {
      x += re[k]! * solution[k]!;
      y += im[k]! * solution[k]!;
    }
    return [x, y];
  };

  const valueAt = (frequencyPerPx: number): number => {
    const model = gradients(frequencyPerPx);
    return weighted.reduce((sum, { share, solution }) => sum + share * Math.hypot(...otfOf(solution, model)), 0);
  };

  const at = (frequencyPerPx: number): { value: number; std: number } => {
    const model = gradients(frequencyPerPx);
    let mean = 0;
    let square = 0;
    for (const { share, solution, covariance } of weighted) {
      const [x, y] = otfOf(solution, model);
      const modulus = Math.hypot(x, y);
      const [cos, sin] = modulus > 1e-12 ? [x / modulus, y / modulus] : [1, 0];
      for (let k = 2; k < terms; k++) along[k] = cos * re[k]! + sin * im[k]!;
      let variance = 0;
      for (let a = 2; a < terms; a++) {
        let sum = (along[a]! * covariance[a * terms + a]!) / 2;
        for (let b = 2; b < a; b++) sum += along[b]! * covariance[a * terms + b]!;
        variance += 2 * along[a]! * sum;
      }
      mean += share * modulus;
      square += share * (modulus * modulus + variance * misfit);
    }
    const numerical = numericalStd * Math.min(1, 10 * frequencyPerPx);
    return { value: mean, std: Math.sqrt(Math.max(0, square - mean * mean) + numerical ** 2) };
  };

  /** Derivatives of the OTF's real and imaginary part by each term; gradients() fills them and returns the model's OTF. */
  const re = new Float64Array(terms);
  const im = new Float64Array(terms);
  const along = new Float64Array(terms);
  const psi = new Float64Array(departureTerms);
  function gradients(f: number): number {
    const { value, byDisc, byGauss, byDiffraction } = blurOtf(blur, f);
    const k = 2 * Math.PI * f;
    re[2] = byDisc;
    re[3] = byGauss;
    im[4] = -k * value;
    re[7] = byDiffraction;
    hermiteFunctions(k * width, departureTerms, psi);
    const scale = k * width * Math.sqrt(2 * Math.PI);
    for (let n = 0; n < departureTerms; n++) {
      // i·(−i)ⁿ = i, 1, −i, −1, …
      const turn = n & 3;
      re[freeTerms + n] = turn === 1 ? scale * psi[n]! : turn === 3 ? -scale * psi[n]! : 0;
      im[freeTerms + n] = turn === 0 ? scale * psi[n]! : turn === 2 ? -scale * psi[n]! : 0;
    }
    return value;
  }

  const departure = new Float64Array(tables.size);
  for (const { share, solution } of weighted) {
    for (let k = 0; k < tables.size; k++) {
      let sum = 0;
      for (let a = 2; a < terms; a++) if (a !== 5 && a !== 6) sum += columns[k * terms + a]! * solution[a]!;
      departure[k] = departure[k]! + (share * sum) / swing;
    }
  }
  return { at, valueAt, departure };
}

/** χ² per degree of freedom of the bins: what scatters beyond the noise widens the standard deviations. */
function misfitOf(
  { counts, sums }: ResidualSums,
  design: Float64Array,
  weights: Float64Array,
  solution: Float64Array,
): number {
  let chiSquare = 0;
  let bins = 0;
  for (let k = 0; k < counts.length; k++) {
    const count = counts[k]!;
    if (count === 0) continue;
    let model = 0;
    for (let a = 0; a < terms; a++) model += design[k * terms + a]! * solution[a]!;
    chiSquare += ((sums[k]! - count * model) ** 2 / count) * weights[k]!;
    bins++;
  }
  return Math.max(1, chiSquare / Math.max(1, bins - terms / 2));
}

interface Fit {
  logEvidence: number;
  solution: Float64Array;
  covariance: Float64Array;
}

/** Posterior and evidence for one expected size of the departure. */
function fitWith(
  normal: Float64Array,
  right: Float64Array,
  { spare, diffractionStd, size }: { spare: number; diffractionStd: number; size: number },
): Fit | null {
  const precision = normal.slice();
  let logPrior = 0;
  // Disc and Gaussian are nearly the same thing where both are small: hold them to the order of the whole blur.
  for (const k of [2, 3]) precision[k * terms + k] = precision[k * terms + k]! + 1 / spare ** 2;
  precision[7 * terms + 7] = precision[7 * terms + 7]! + 1 / diffractionStd ** 2;
  for (let n = 0; n < departureTerms; n++) {
    const k = freeTerms + n;
    const std = size * decay ** n;
    precision[k * terms + k] = precision[k * terms + k]! + 1 / std ** 2;
    logPrior -= Math.log(std);
  }
  const factor = choleskyFactor(precision, terms);
  if (!factor) return null;
  const solution = choleskySolve(factor, terms, right);
  let fit = 0;
  let logDeterminant = 0;
  for (let k = 0; k < terms; k++) {
    fit += right[k]! * solution[k]!;
    logDeterminant += 2 * Math.log(factor[k * terms + k]!);
  }
  return {
    logEvidence: fit / 2 - logDeterminant / 2 + logPrior,
    solution,
    covariance: choleskyInverse(factor, terms),
  };
}

/** Weighted normal equations of all terms on the binned residuals; `columns` holds the terms per bin. */
function normalEquations(edge: FittedEdge, width: number) {
  const { tables, levels, sums } = edge;
  const { esf, lsf, byDisc, byGauss, byDiffraction, size, stepPx } = tables;
  const swing = levels.brightDn - levels.darkDn;
  const normal = new Float64Array(terms * terms);
  const right = new Float64Array(terms);
  const columns = new Float64Array(size * terms);
  const psi = new Float64Array(departureTerms);
  const weights = sampleWeights(levels, tables, sums.counts);
  for (let k = 0; k < size; k++) {
    const count = sums.counts[k]!;
    const d = (k - size / 2) * stepPx;
    const row = columns.subarray(k * terms, (k + 1) * terms);
    row[0] = 1 - esf[k]!;
    row[1] = esf[k]!;
    row[2] = swing * byDisc[k]!;
    row[3] = swing * byGauss[k]!;
    row[4] = -swing * lsf[k]!;
    row[5] = d * (1 - esf[k]!);
    row[6] = d * esf[k]!;
    row[7] = swing * byDiffraction[k]!;
    hermiteFunctions(d / width, departureTerms, psi);
    for (let n = 0; n < departureTerms; n++) row[freeTerms + n] = swing * psi[n]!;
    if (count === 0) continue;
    const w = weights[k]!;
    for (let a = 0; a < terms; a++) {
      const wa = w * row[a]!;
      right[a] = right[a]! + wa * sums.sums[k]!;
      for (let b = 0; b <= a; b++) normal[a * terms + b] = normal[a * terms + b]! + count * wa * row[b]!;
    }
  }
  for (let a = 0; a < terms; a++) for (let b = 0; b < a; b++) normal[b * terms + a] = normal[a * terms + b]!;
  return { normal, right, columns, weights };
}
