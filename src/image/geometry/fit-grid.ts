import { choleskyFactor, choleskyInverse, choleskySolve, type Estimate } from '../../base/index.js';
import type { GridReadingPoint } from './grid-target.js';
import type { LatticePoint } from './lattice.js';

/** A fitted grid. Parameters: perspective (8), k1, k2, distortion centre (2). */
export interface GridFit {
  parameters: number[];
  hasK2: boolean;
  unitRadiusPx: number;
  residualRmsPx: number;
  residuals: GridReadingPoint[];
  /** A function of the parameters with its standard deviation, to first order. */
  estimate(of: (parameters: readonly number[]) => number): Estimate;
}

/** Prior of the distortion centre, as a share of the diagonal; common practice, no source. */
const centrePrior = 0.1;
const k2Significance = 4;

/** Where a place of the target lies in the picture. */
export function gridToPicture(p: readonly number[], xMm: number, yMm: number, unitRadiusPx: number): [number, number] {
  const w = 1 + p[6]! * xMm + p[7]! * yMm;
  const [cx, cy] = [p[10]!, p[11]!];
  const ux = (p[0]! * xMm + p[1]! * yMm + p[2]!) / w - cx;
  const uy = (p[3]! * xMm + p[4]! * yMm + p[5]!) / w - cy;
  const r2 = (ux * ux + uy * uy) / unitRadiusPx ** 2;
  const stretch = 1 + p[8]! * r2 + p[9]! * r2 * r2;
  return [cx + ux * stretch, cy + uy * stretch];
}

/** Least squares of perspective and distortion (Gauss–Newton, Levenberg's damping); null where it does not settle. */
export function fitGrid({
  points,
  pitchMm,
  widthPx,
  heightPx,
}: {
  points: readonly LatticePoint[];
  pitchMm: number;
  widthPx: number;
  heightPx: number;
}): GridFit | null {
  const unitRadiusPx = Math.hypot(widthPx, heightPx) / 2;
  const centre = [(widthPx - 1) / 2, (heightPx - 1) / 2] as const;
  const start = [...affineOf(points, pitchMm), 0, 0, 0, 0, ...centre];
  const problem = { points, pitchMm, unitRadiusPx, centre, priorPx: 2 * centrePrior * unitRadiusPx };
  const simple = settle(problem, start, [0, 1, 2, 3, 4, 5, 6, 7, 8, 10, 11]);
  if (simple === null) return null;
  const full = settle(problem, simple.parameters, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]);
  const hasK2 = full !== null && Math.abs(full.parameters[9]!) > k2Significance * full.stdOf((p) => p[9]!);
  const { parameters, stdOf } = hasK2 ? full : simple;
  const residuals = points.map(({ column, row, xPx, yPx }): GridReadingPoint => {
    const [x, y] = gridToPicture(parameters, column * pitchMm, row * pitchMm, unitRadiusPx);
    return { column, row, xPx, yPx, residualXPx: xPx - x, residualYPx: yPx - y };
  });
  const squares = residuals.reduce((sum, { residualXPx, residualYPx }) => sum + residualXPx ** 2 + residualYPx ** 2, 0);
  return {
    parameters,
    hasK2,
    unitRadiusPx,
    residualRmsPx: Math.sqrt(squares / (2 * points.length)),
    residuals,
    estimate: (of) => ({ value: of(parameters), std: stdOf(of) }),
  };
}

interface Problem {
  points: readonly LatticePoint[];
  pitchMm: number;
  unitRadiusPx: number;
  centre: readonly [number, number];
  priorPx: number;
}

function affineOf(points: readonly LatticePoint[], pitchMm: number): number[] {
  const normal = new Float64Array(9);
  const rights = [new Float64Array(3), new Float64Array(3)] as const;
  for (const { column, row, xPx, yPx } of points) {
    const terms = [column * pitchMm, row * pitchMm, 1];
    for (let i = 0; i < 3; i++) {
      rights[0][i] = rights[0][i]! + terms[i]! * xPx;
      rights[1][i] = rights[1][i]! + terms[i]! * yPx;
      for (let j = 0; j < 3; j++) normal[3 * i + j] = normal[3 * i + j]! + terms[i]! * terms[j]!;
    }
  }
  const factor = choleskyFactor(normal, 3);
  return factor === null ? [1, 0, 0, 0, 1, 0] : rights.flatMap((right) => [...choleskySolve(factor, 3, right)]);
}

/** The residuals: two for each point, in px, then the prior of the centre scaled to the points' scatter. */
function residualsOf(
  { points, pitchMm, unitRadiusPx, centre, priorPx }: Problem,
  p: readonly number[],
  scatterPx: number,
): Float64Array {
  const values = new Float64Array(2 * points.length + 2);
  points.forEach(({ column, row, xPx, yPx }, i) => {
    const [x, y] = gridToPicture(p, column * pitchMm, row * pitchMm, unitRadiusPx);
    values[2 * i] = xPx - x;
    values[2 * i + 1] = yPx - y;
  });
  values[2 * points.length] = ((centre[0] - p[10]!) * scatterPx) / priorPx;
  values[2 * points.length + 1] = ((centre[1] - p[11]!) * scatterPx) / priorPx;
  return values;
}

function settle(problem: Problem, start: readonly number[], free: readonly number[]) {
  const n = free.length;
  const scales = stepsOf(problem);
  let p = [...start];
  let scatterPx = 0.05;
  let damping = 1e-3;
  const squaresOf = (values: Float64Array) => values.reduce((sum, v) => sum + v * v, 0);
  for (let pass = 0; pass < 60; pass++) {
    const now = residualsOf(problem, p, scatterPx);
    const cost = squaresOf(now);
    const { normal, right } = normalEquations(problem, p, now, free, scales, scatterPx);
    const damped = normal.map((value, at) => (at % (n + 1) === 0 ? value * (1 + damping) + 1e-12 : value));
    const factor = choleskyFactor(damped, n);
    if (factor === null) return null;
    const change = choleskySolve(factor, n, right);
    const next = [...p];
    free.forEach((index, i) => {
      next[index] = next[index]! + change[i]! * scales[index]!;
    });
    const nextCost = squaresOf(residualsOf(problem, next, scatterPx));
    if (nextCost <= cost) {
      p = next;
      damping = Math.max(1e-9, damping / 10);
      scatterPx = Math.max(1e-3, Math.sqrt(nextCost / Math.max(1, now.length - n)));
      if (cost - nextCost <= 1e-12 * cost) break;
    } else {
      damping *= 10;
      if (damping > 1e9) break;
    }
  }
  const { normal } = normalEquations(problem, p, residualsOf(problem, p, scatterPx), free, scales, scatterPx);
  const factor = choleskyFactor(normal, n);
  if (factor === null) return null;
  const covariance = choleskyInverse(factor, n);
  const stdOf = (of: (parameters: readonly number[]) => number): number => {
    const gradient = free.map((index) => {
      const step = 1e-3 * scales[index]!;
      const moved = (by: number) => of(p.map((value, i) => (i === index ? value + by : value)));
      return (moved(step) - moved(-step)) / 2e-3;
    });
    let variance = 0;
    for (let i = 0; i < n; i++)
      for (let j = 0; j < n; j++) variance += gradient[i]! * gradient[j]! * covariance[i * n + j]!;
    return Math.sqrt(Math.max(0, variance)) * scatterPx;
  };
  return { parameters: p, stdOf };
}

/** A change of each parameter that moves the farthest points by about a pixel. */
function stepsOf({ points, pitchMm, unitRadiusPx }: Problem): number[] {
  const reachMm = pitchMm * points.reduce((most, { column, row }) => Math.max(most, Math.hypot(column, row)), 1);
  const [linear, tilt] = [1 / reachMm, 1 / (reachMm * unitRadiusPx)];
  return [linear, linear, 1, linear, linear, 1, tilt, tilt, 1 / unitRadiusPx, 1 / unitRadiusPx, 1, 1];
}

function normalEquations(
  problem: Problem,
  p: readonly number[],
  now: Float64Array,
  free: readonly number[],
  scales: readonly number[],
  scatterPx: number,
) {
  const n = free.length;
  const columns = free.map((index) => {
    const step = 1e-4 * scales[index]!;
    const moved = residualsOf(
      problem,
      p.map((value, i) => (i === index ? value + step : value)),
      scatterPx,
    );
    return moved.map((value, at) => (now[at]! - value) / 1e-4);
  });
  const normal = new Float64Array(n * n);
  const right = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    for (let at = 0; at < now.length; at++) right[i] = right[i]! + columns[i]![at]! * now[at]!;
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let at = 0; at < now.length; at++) sum += columns[i]![at]! * columns[j]![at]!;
      normal[i * n + j] = sum;
      normal[j * n + i] = sum;
    }
  }
  return { normal, right };
}
