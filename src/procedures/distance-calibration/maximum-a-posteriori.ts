import { choleskyFactor, choleskyInverse, choleskySolve } from '../../base/index.js';
import { slopeOf } from './slope.js';

/** A datum with its standard deviation. */
export interface Datum {
  value: number;
  std: number;
}

/** What the fit found: parameters, their covariance (row-major), the model there and its slopes. */
export interface MapFit {
  parameters: readonly number[];
  covariance: Float64Array;
  fitted: readonly number[];
  /** d fitted / d parameter, one row per datum. */
  slopes: readonly (readonly number[])[];
  /** Σ ((value − fitted)/std)² + Σ ((parameter − prior)/priorStd)². */
  chiSquare: number;
  /** Its first sum alone. */
  dataChiSquare: number;
  /** Number of parameters that the data decide, the rest being the priors': tr(J C Jᵀ W). */
  effectiveParameters: number;
}

/**
 * χ² of the data per degree of freedom that they have left: expected 1 where their uncertainties hold.
 *
 * Formula  Σ ((value − fitted)/std)² / (n − effectiveParameters), the divisor at least 1
 */
export function reducedChiSquareOf({ dataChiSquare, effectiveParameters, fitted }: MapFit): number {
  return dataChiSquare / Math.max(1, fitted.length - effectiveParameters);
}

/**
 * Most probable parameters of a model under normal noise and independent normal priors.
 *
 * Model    data = model(parameters) + noise; parameters ~ prior. For a linear model the answer is exact, and `chiSquare`
 *          follows χ² with as many degrees of freedom as there are data; `dataChiSquare` is on average their number less
 *          `effectiveParameters`.
 * Formula  Gauss–Newton on (Jᵀ W J + Λ) δ = Jᵀ W r + Λ (prior − parameters); a step that cannot be built, or does not lower
 *          χ², is halved; covariance (Jᵀ W J + Λ)⁻¹
 * Returns  the last parameters that can be built, where no further step lowers χ².
 * Throws   RangeError if a standard deviation is not > 0, or the priors' own values cannot be built.
 * Source   textbook least squares (e.g. Tarantola 2005, Inverse Problem Theory, eq. 3.51; from memory, derived again)
 * Checked  closed form and recovery: tests/procedures/distance-calibration-fit.test.ts
 */
export function fitMaximumAPosteriori({
  data,
  priors,
  model,
}: {
  data: readonly Datum[];
  priors: readonly Datum[];
  /** Predicts every datum from the parameters; null where they cannot be built. */
  model: (parameters: readonly number[]) => readonly number[] | null;
}): MapFit {
  for (const { std } of [...data, ...priors]) {
    if (!(std > 0)) throw new RangeError(`std is ${std}; allowed: a finite number > 0`);
  }
  const pointAt = (parameters: readonly number[]): Point | null => {
    const fitted = model(parameters);
    if (!fitted) return null;
    const dataChiSquare = sumOf(data, ({ value, std }, i) => ((value - fitted[i]!) / std) ** 2);
    const strain = sumOf(priors, (prior, j) => ((parameters[j]! - prior.value) / prior.std) ** 2);
    return { parameters, fitted, dataChiSquare, chiSquare: dataChiSquare + strain };
  };
  const start = pointAt(priors.map((prior) => prior.value));
  if (!start)
    throw new RangeError('the priors’ values cannot be built; allowed: values that the model can predict from');
  let point = start;
  for (let step = 0; ; step++) {
    const slopes = slopesOf(model, point.parameters, priors, data.length);
    const { change, covariance } = newtonStep({ data, priors, point, slopes });
    const settled = change.every((c, j) => Math.abs(c) < 1e-9 * priors[j]!.std);
    const next: Point | null = settled || step === maxSteps ? null : lowered(point, change, pointAt);
    if (!next) return { ...point, covariance, slopes, effectiveParameters: decidedByData(data, slopes, covariance) };
    point = next;
  }
}

const maxSteps = 60;
const mostHalvings = 30;

interface Point {
  parameters: readonly number[];
  fitted: readonly number[];
  chiSquare: number;
  dataChiSquare: number;
}

/** The first of the step, its half, its quarter … that can be built and lowers χ²; null where none does. */
function lowered(
  from: Point,
  change: readonly number[],
  pointAt: (p: readonly number[]) => Point | null,
): Point | null {
  for (let halving = 0; halving <= mostHalvings; halving++) {
    const point = pointAt(from.parameters.map((p, j) => p + change[j]! / 2 ** halving));
    if (point && point.chiSquare < from.chiSquare) return point;
  }
  return null;
}

/** Solves in units of the priors' standard deviations, where the matrix is the identity plus something positive. */
function newtonStep({
  data,
  priors,
  point,
  slopes,
}: {
  data: readonly Datum[];
  priors: readonly Datum[];
  point: Point;
  slopes: readonly (readonly number[])[];
}) {
  const count = priors.length;
  const scaled = priors.map(({ std }, j) => slopes.map((row) => row[j]! * std));
  const matrix = new Float64Array(count * count);
  const gradient = priors.map((prior, j) => (prior.value - point.parameters[j]!) / prior.std);
  for (let j = 0; j < count; j++) {
    gradient[j]! += sumOf(data, ({ value, std }, i) => (scaled[j]![i]! * (value - point.fitted[i]!)) / std ** 2);
    for (let k = 0; k < count; k++) {
      matrix[j * count + k] =
        (j === k ? 1 : 0) + sumOf(data, ({ std }, i) => (scaled[j]![i]! / std) * (scaled[k]![i]! / std));
    }
  }
  const factor = factorOf(matrix, count);
  return {
    change: [...choleskySolve(factor, count, gradient)].map((c, j) => c * priors[j]!.std),
    covariance: choleskyInverse(factor, count).map(
      (v, at) => v * priors[Math.floor(at / count)]!.std * priors[at % count]!.std,
    ),
  };
}

/** Cholesky factor; a matrix that rounding makes indefinite gets the least that helps on its diagonal. */
function factorOf(matrix: Float64Array, count: number): Float64Array {
  const largest = Math.max(0, ...matrix.map(Math.abs));
  for (let share = 0; share < 1; share = share === 0 ? 1e-13 : 10 * share) {
    const raised = matrix.map((v, at) => (at % (count + 1) === 0 ? v + share * largest : v));
    const factor = choleskyFactor(raised, count);
    if (factor) return factor;
  }
  throw new RangeError('the normal matrix is not positive definite; allowed: finite slopes of the model');
}

/** One row per datum. */
function slopesOf(
  model: (parameters: readonly number[]) => readonly number[] | null,
  at: readonly number[],
  priors: readonly Datum[],
  count: number,
): number[][] {
  const columns = priors.map(({ std }, index) => slopeOf({ model, at, index, half: std / 1000 }));
  return Array.from({ length: count }, (_, i) => columns.map((column) => column[i]!));
}

function decidedByData(data: readonly Datum[], slopes: readonly (readonly number[])[], covariance: Float64Array) {
  return sumOf(data, ({ std }, i) => variedBy(slopes[i]!, covariance) / std ** 2);
}

/** Variance of a quantity with given slopes: a C aᵀ. */
export function variedBy(slopes: readonly number[], covariance: ArrayLike<number>): number {
  const count = slopes.length;
  return sumOf(slopes, (a, j) => sumOf(slopes, (b, k) => a * covariance[j * count + k]! * b));
}

function sumOf<T>(list: readonly T[], term: (item: T, index: number) => number): number {
  return list.reduce((sum, item, index) => sum + term(item, index), 0);
}
