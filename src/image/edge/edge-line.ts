import { choleskyFactor, choleskyInverse, choleskySolve } from '../../base/index.js';

/** Where the edge crosses each row: a polynomial in t = (row − middle)/half, t −1 … 1. */
export interface EdgeLine {
  rows: number;
  coefficients: number[];
}

/** Column at which the edge crosses a row. */
export function edgeColumnPx({ rows, coefficients }: EdgeLine, row: number): number {
  const half = (rows - 1) / 2;
  const t = (row - half) / half;
  let value = 0;
  for (let k = coefficients.length - 1; k >= 0; k--) value = value * t + coefficients[k]!;
  return value;
}

/** Tilt of the chord against the columns, rad: positive where the edge moves to higher columns down the rows. */
export const lineTiltRad = ({ rows, coefficients }: EdgeLine): number => {
  const end = coefficients.reduce((sum, c, k) => sum + (k & 1 ? c : 0), 0);
  return Math.atan((2 * end) / (rows - 1));
};

/** Greatest distance between the curve and its chord, along the row. */
export function bowPx(line: EdgeLine): number {
  if (line.coefficients.length <= 2) return 0;
  const first = edgeColumnPx(line, 0);
  const slope = (edgeColumnPx(line, line.rows - 1) - first) / (line.rows - 1);
  let most = 0;
  for (let row = 0; row < line.rows; row++) {
    most = Math.max(most, Math.abs(edgeColumnPx(line, row) - first - slope * row));
  }
  return most;
}

/** Weighted polynomial through values per row; χ² is that of the residual, covariance row-major. */
export function fitRows(values: Float64Array, weights: Float64Array, degree: number) {
  const rows = values.length;
  const n = degree + 1;
  const normal = new Float64Array(n * n);
  const right = new Float64Array(n);
  const powers = new Float64Array(n);
  const half = (rows - 1) / 2;
  for (let row = 0; row < rows; row++) {
    const w = weights[row]!;
    if (w === 0) continue;
    powers[0] = 1;
    for (let k = 1; k < n; k++) powers[k] = powers[k - 1]! * ((row - half) / half);
    for (let a = 0; a < n; a++) {
      right[a] = right[a]! + w * powers[a]! * values[row]!;
      for (let b = 0; b <= a; b++) normal[a * n + b] = normal[a * n + b]! + w * powers[a]! * powers[b]!;
    }
  }
  for (let a = 0; a < n; a++) for (let b = 0; b < a; b++) normal[b * n + a] = normal[a * n + b]!;
  const factor = choleskyFactor(normal, n);
  if (!factor) return null;
  const coefficients = Array.from(choleskySolve(factor, n, right));
  const line: EdgeLine = { rows, coefficients };
  let chiSquare = 0;
  for (let row = 0; row < rows; row++) {
    chiSquare += weights[row]! * (values[row]! - edgeColumnPx(line, row)) ** 2;
  }
  return { line, chiSquare, covariance: choleskyInverse(factor, n) };
}
