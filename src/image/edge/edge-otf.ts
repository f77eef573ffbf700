import { choleskyFactor, choleskyInverse, choleskySolve } from '../../base/index.js';
import { blurOtf, blurVariancePx2 } from './edge-model.js';
import type { FittedEdge } from './fit-edge.js';
import { hermiteFunctions } from './hermite.js';
import { type ResidualSums, sampleWeights, usedBins } from './residual-pass.js';
import { productsWith, weightedProducts } from './weighted-products.js';

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

/** Points of the reported MTF: 0 … 1 cycle per pixel. */
const mtfPoints = 101;

/** The optical transfer function that an edge supports. */
export interface EdgeOtf {
  /** Modulus and its standard deviation at a frequency along the edge's normal. */
  at(frequencyPerPx: number): { value: number; std: number };
  /** The same, every hundredth of a cycle per pixel from 0 to 1. */
  points: { frequencyPerPx: number; value: number; std: number }[];
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
  const weighted = likely.map(({ factor, solution, logEvidence }) => ({
    solution,
    covariance: choleskyInverse(factor, terms),
    share: Math.exp(logEvidence - best) / total,
  }));
  const misfit = misfitOf(sums, columns, weights, weighted[0]!.solution);

  /** Modulus of the fits: mean and mean square, and the mean OTF itself; after gradients() for that frequency. */
  const sumUp = (model: number) => {
    let [mean, square, sumX, sumY] = [0, 0, 0, 0];
    for (const { share, solution } of weighted) {
      let x = model;
      let y = 0;
      for (let k = 2; k < terms; k++) {
        x += re[k]! * solution[k]!;
        y += im[k]! * solution[k]!;
      }
      const squared = x * x + y * y;
      mean += share * Math.sqrt(squared);
      square += share * squared;
      sumX += share * x;
      sumY += share * y;
    }
    return { mean, square, sumX, sumY };
  };

  const valueAt = (frequencyPerPx: number): number => sumUp(gradients(frequencyPerPx)).mean;

  // The fits that count differ little: one covariance, averaged, serves for all.
  const covariance = new Float64Array(terms * terms);
  for (const fit of weighted) {
    for (let i = 0; i < covariance.length; i++) covariance[i] = covariance[i]! + fit.share * fit.covariance[i]!;
  }

  const at = (frequencyPerPx: number): { value: number; std: number } => {
    const { mean, square: spread, sumX, sumY } = sumUp(gradients(frequencyPerPx));
    const modulus = Math.sqrt(sumX * sumX + sumY * sumY);
    const [cos, sin] = modulus > 1e-12 ? [sumX / modulus, sumY / modulus] : [1, 0];
    for (let k = 2; k < terms; k++) along[k] = cos * re[k]! + sin * im[k]!;
    let variance = 0;
    for (let a = 2; a < terms; a++) {
      const row = a * terms;
      let sum = (along[a]! * covariance[row + a]!) / 2;
      for (let b = 2; b < a; b++) sum += along[b]! * covariance[row + b]!;
      variance += 2 * along[a]! * sum;
    }
    const square = spread + variance * misfit;
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
  for (let a = 2; a < terms; a++) {
    if (a === 5 || a === 6) continue;
    const amount = weighted.reduce((sum, { share, solution }) => sum + share * solution[a]!, 0) / swing;
    const column = columns[a]!;
    for (let k = 0; k < departure.length; k++) departure[k] = departure[k]! + amount * column[k]!;
  }
  const points = Array.from({ length: mtfPoints }, (_, i) => {
    const frequencyPerPx = i / (mtfPoints - 1);
    return { frequencyPerPx, ...at(frequencyPerPx) };
  });
  return { at, points, valueAt, departure };
}

/** χ² per degree of freedom of the bins: what scatters beyond the noise widens the standard deviations. */
function misfitOf(
  { counts, sums }: ResidualSums,
  columns: readonly Float64Array[],
  weights: Float64Array,
  solution: Float64Array,
): number {
  const model = new Float64Array(counts.length);
  columns.forEach((column, a) => {
    const amount = solution[a]!;
    for (let k = 0; k < model.length; k++) model[k] = model[k]! + amount * column[k]!;
  });
  let chiSquare = 0;
  let bins = 0;
  for (let k = 0; k < counts.length; k++) {
    const count = counts[k]!;
    if (count === 0) continue;
    chiSquare += ((sums[k]! - count * model[k]!) ** 2 / count) * weights[k]!;
    bins++;
  }
  return Math.max(1, chiSquare / Math.max(1, bins - terms / 2));
}

interface Fit {
  logEvidence: number;
  solution: Float64Array;
  /** Of the precision. */
  factor: Float64Array;
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
    factor,
  };
}

/** Weighted normal equations of all terms on the binned residuals; `columns` holds each term over the bins. */
function normalEquations(edge: FittedEdge, width: number) {
  const { tables, levels, sums } = edge;
  const { esf, lsf, byDisc, byGauss, byDiffraction, size, stepPx } = tables;
  const swing = levels.brightDn - levels.darkDn;
  const columns = scratchColumns(size);
  const psi = new Float64Array(departureTerms);
  const weights = sampleWeights(levels, tables, sums.counts);
  const counted = new Float64Array(size);
  const pulled = new Float64Array(size);
  const [dark, bright, disc, gauss, place, darkSlope, brightSlope, diffraction] = columns as unknown as Eight;
  for (let k = 0; k < size; k++) {
    const d = (k - size / 2) * stepPx;
    const level = esf[k]!;
    dark[k] = 1 - level;
    bright[k] = level;
    disc[k] = swing * byDisc[k]!;
    gauss[k] = swing * byGauss[k]!;
    place[k] = -swing * lsf[k]!;
    darkSlope[k] = d * (1 - level);
    brightSlope[k] = d * level;
    diffraction[k] = swing * byDiffraction[k]!;
    hermiteFunctions(d / width, departureTerms, psi);
    for (let n = 0; n < departureTerms; n++) columns[freeTerms + n]![k] = swing * psi[n]!;
    counted[k] = sums.counts[k]! * weights[k]!;
    pulled[k] = sums.sums[k]! * weights[k]!;
  }
  const range = usedBins(sums.counts);
  const normal = weightedProducts({ columns, weights: counted, ...range });
  return { normal, right: productsWith({ columns, values: pulled, ...range }), columns, weights };
}

const scratch = new Map<number, Float64Array[]>();

/** Room for the terms of one edge; the next edge overwrites it. */
function scratchColumns(size: number): Float64Array[] {
  let columns = scratch.get(size);
  if (!columns) {
    columns = Array.from({ length: terms }, () => new Float64Array(size));
    if (size <= 4096) scratch.set(size, columns);
  }
  return columns;
}

type Column = Float64Array;
type Eight = [Column, Column, Column, Column, Column, Column, Column, Column];
