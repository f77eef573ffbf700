import { choleskyFactor, choleskyInverse, choleskySolve } from '../base/index.js';

/** A fitted Gaussian on a baseline. */
export interface GaussianPeak {
  peak: number;
  peakStd: number;
  width: number;
  height: number;
  baseline: number;
  residualRms: number;
  usedPoints: number;
  /** Standard deviation of a height estimated from the scatter of the points under the peak. */
  heightScatter: number;
}

/**
 * Weighted least squares of baseline + height·exp(−(x − peak)²/(2 width²)); null if it does not settle on a peak.
 *
 * Model    Gauss–Newton with Levenberg's damping on (height, peak, ln width, baseline); start from the log-parabola's moments.
 *          Covariance (Jᵀ W J)⁻¹, times χ²/(n − 4) where that exceeds 1 or where no noise is given. Where the window sees
 *          only the cap of the bell, height and baseline run off together: the width is then held at thrice the window.
 */
export function fitGaussianPeak({
  positions,
  values,
  valueStds,
}: {
  positions: readonly number[];
  values: readonly number[];
  valueStds?: readonly number[] | undefined;
}): GaussianPeak | null {
  const n = positions.length;
  const span = positions[n - 1]! - positions[0]!;
  const low = Math.min(...values);
  const range = Math.max(...values) - low;
  // Scaled to order one: the system stays well conditioned whatever the units.
  const x = positions.map((p) => (p - positions[0]!) / span);
  const y = values.map((v) => (v - low) / range);
  const weight = valueStds ? valueStds.map((std) => (range / std) ** 2) : x.map(() => 1);
  let parameters = startOf(x, y);
  let cost = costOf(x, y, weight, parameters);
  let damping = 1e-3;
  for (let step = 0; step < 60; step++) {
    const { normal, gradient } = normalEquations(x, y, weight, parameters);
    for (let i = 0; i < 4; i++) normal[i * 5] = normal[i * 5]! * (1 + damping) + 1e-12;
    const factor = choleskyFactor(normal, 4);
    if (!factor) return null;
    const change = choleskySolve(factor, 4, gradient);
    const next = parameters.map((p, i) => p + change[i]!) as Parameters4;
    next[2] = Math.min(Math.log(3), Math.max(Math.log(0.2 / n), next[2]));
    const nextCost = costOf(x, y, weight, next);
    if (nextCost <= cost) {
      const settled = cost - nextCost <= 1e-12 * cost && Math.abs(change[1]!) < 1e-9;
      parameters = next;
      cost = nextCost;
      damping = Math.max(1e-9, damping / 10);
      if (settled) break;
    } else {
      damping *= 10;
      if (damping > 1e9) break;
    }
  }
  const [height, peak, logWidth, baseline] = parameters;
  if (!(height > 0) || !Number.isFinite(cost)) return null;
  const covariance = covarianceOf(x, weight, parameters);
  if (!covariance) return null;
  const dof = Math.max(1, n - 4);
  const scale = valueStds ? Math.max(1, cost / dof) : cost / dof;
  const width = Math.exp(logWidth);
  const residuals = x.map((xi, i) => y[i]! - model(xi, parameters));
  const residualRms = Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / n);
  const under = Math.max(1, x.filter((xi) => Math.abs(xi - peak) < 1.5 * width).length);
  return {
    peak: positions[0]! + peak * span,
    peakStd: Math.sqrt(covariance[5]! * scale) * span,
    width: width * span,
    height: height * range,
    baseline: low + baseline * range,
    residualRms: residualRms * range,
    usedPoints: n,
    heightScatter: (residualRms * range * Math.sqrt(n / dof)) / Math.sqrt(under),
  };
}

type Parameters4 = [height: number, peak: number, logWidth: number, baseline: number];

const model = (x: number, [height, peak, logWidth, baseline]: Parameters4): number =>
  baseline + height * Math.exp(-((x - peak) ** 2) / (2 * Math.exp(2 * logWidth)));

function costOf(x: readonly number[], y: readonly number[], weight: readonly number[], p: Parameters4): number {
  return x.reduce((sum, xi, i) => sum + weight[i]! * (y[i]! - model(xi, p)) ** 2, 0);
}

/** Centroid and spread of what lies above the window's lowest value. */
function startOf(x: readonly number[], y: readonly number[]): Parameters4 {
  const top = y.indexOf(Math.max(...y));
  const total = y.reduce((sum, v) => sum + v, 0);
  const spread = Math.sqrt(x.reduce((sum, xi, i) => sum + y[i]! * (xi - x[top]!) ** 2, 0) / total);
  return [1, x[top]!, Math.log(Math.max(0.5 / x.length, spread)), 0];
}

function derivatives(x: number, [height, peak, logWidth]: Parameters4): Parameters4 {
  const u = (x - peak) / Math.exp(logWidth);
  const bell = Math.exp((-u * u) / 2);
  return [bell, (height * bell * u) / Math.exp(logWidth), height * bell * u * u, 1];
}

function normalEquations(x: readonly number[], y: readonly number[], weight: readonly number[], p: Parameters4) {
  const normal = new Float64Array(16);
  const gradient = new Float64Array(4);
  x.forEach((xi, i) => {
    const d = derivatives(xi, p);
    const residual = y[i]! - model(xi, p);
    for (let a = 0; a < 4; a++) {
      gradient[a] = gradient[a]! + weight[i]! * d[a]! * residual;
      for (let b = 0; b < 4; b++) normal[a * 4 + b] = normal[a * 4 + b]! + weight[i]! * d[a]! * d[b]!;
    }
  });
  return { normal, gradient };
}

function covarianceOf(x: readonly number[], weight: readonly number[], p: Parameters4): Float64Array | null {
  const { normal } = normalEquations(
    x,
    x.map((xi) => model(xi, p)),
    weight,
    p,
  );
  for (let i = 0; i < 4; i++) normal[i * 5] = normal[i * 5]! * (1 + 1e-10);
  const factor = choleskyFactor(normal, 4);
  return factor && choleskyInverse(factor, 4);
}
