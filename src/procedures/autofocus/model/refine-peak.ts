/** A peak of a log density, as its parabola has it. */
export interface Peak {
  place: Float64Array;
  logDensity: number;
  /** Row by row. */
  covariance: Float64Array;
  /** Logarithm of the density's integral over the peak. */
  logMass: number;
}

const mostRounds = 6;
const closeEnough = 0.05;
const mostStep = 2.5;

/**
 * Climbs to the peak of a smooth log density and measures it.
 *
 * Model    a parabola through values a step off in every direction and pair of directions; Newton's step, cut to a few steps'
 *          length, taken as long as it climbs
 * Input    `stepOf`: lengths at which the density changes by about one in its logarithm; 0 holds a direction fixed.
 * Returns  null where the top is not rounded: a ridge, or a plain.
 * Formula  mass = density · √((2π)ⁿ · det covariance) (Laplace)
 * Checked  closed form: a normal density, tests/procedures/refine-peak.test.ts
 */
export function refinePeak({
  start,
  steps,
  logDensity,
}: {
  start: ArrayLike<number>;
  steps: ArrayLike<number>;
  logDensity: (place: Float64Array) => number;
}): Peak | null {
  const free = Array.from(steps, (_, i) => i).filter((i) => steps[i]! > 0);
  const n = free.length;
  const place = Float64Array.from(start);
  let value = logDensity(place);
  let shape = null as Parabola | null;
  for (let round = 0; round < mostRounds; round++) {
    shape = parabolaAbout({ place, value, free, steps, logDensity });
    const solved = solve(shape.curvature, shape.slope, n);
    if (solved === null) return null;
    const longest = solved.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
    let share = Math.min(1, mostStep / Math.max(longest, 1e-9));
    let climbed = false;
    for (let half = 0; half < 3 && !climbed; half++, share /= 3) {
      const tried = place.slice();
      free.forEach((i, a) => {
        tried[i]! += share * solved[a]! * steps[i]!;
      });
      const found = logDensity(tried);
      if (found > value) {
        climbed = true;
        const gain = found - value;
        place.set(tried);
        value = found;
        if (longest * share < closeEnough || gain < closeEnough / 5) round = mostRounds;
      }
    }
    if (!climbed) break;
  }
  if (shape === null) return null;
  const inverse = inverted(shape.curvature, n);
  if (inverse === null) return null;
  const size = steps.length;
  const covariance = new Float64Array(size * size);
  free.forEach((i, a) => {
    free.forEach((j, b) => {
      covariance[i * size + j] = inverse.matrix[a * n + b]! * steps[i]! * steps[j]!;
    });
  });
  const stepVolume = free.reduce((product, i) => product * steps[i]!, 1);
  const logMass = value + (n / 2) * Math.log(2 * Math.PI) - inverse.logDeterminant / 2 + Math.log(stepVolume);
  return { place, logDensity: value, covariance, logMass };
}

/** Slope, and minus the second derivative, in units of the steps. */
interface Parabola {
  slope: Float64Array;
  curvature: Float64Array;
}

function parabolaAbout({
  place,
  value,
  free,
  steps,
  logDensity,
}: {
  place: Float64Array;
  value: number;
  free: readonly number[];
  steps: ArrayLike<number>;
  logDensity: (place: Float64Array) => number;
}): Parabola {
  const n = free.length;
  const slope = new Float64Array(n);
  const curvature = new Float64Array(n * n);
  const up = new Float64Array(n);
  const off = place.slice();
  free.forEach((i, a) => {
    off[i] = place[i]! + steps[i]!;
    up[a] = logDensity(off);
    off[i] = place[i]! - steps[i]!;
    const down = logDensity(off);
    off[i] = place[i]!;
    slope[a] = (up[a]! - down) / 2;
    curvature[a * n + a] = 2 * value - up[a]! - down;
  });
  for (let a = 0; a < n; a++) {
    for (let b = 0; b < a; b++) {
      const [i, j] = [free[a]!, free[b]!];
      off[i] = place[i]! + steps[i]!;
      off[j] = place[j]! + steps[j]!;
      const both = logDensity(off);
      off[i] = place[i]!;
      off[j] = place[j]!;
      // Second derivative along the diagonal, less those along its sides.
      const mixed = -(both - value - slope[a]! - slope[b]! + (curvature[a * n + a]! + curvature[b * n + b]!) / 2);
      curvature[a * n + b] = mixed;
      curvature[b * n + a] = mixed;
    }
  }
  return { slope, curvature };
}

/** Lower triangle L of A = L·Lᵀ; null where A is not positive definite. */
function cholesky(matrix: Float64Array, n: number): Float64Array | null {
  const lower = new Float64Array(n * n);
  for (let row = 0; row < n; row++) {
    for (let column = 0; column <= row; column++) {
      let sum = matrix[row * n + column]!;
      for (let k = 0; k < column; k++) sum -= lower[row * n + k]! * lower[column * n + k]!;
      if (row === column) {
        if (!(sum > 1e-6)) return null;
        lower[row * n + row] = Math.sqrt(sum);
      } else lower[row * n + column] = sum / lower[column * n + column]!;
    }
  }
  return lower;
}

function solve(matrix: Float64Array, right: Float64Array, n: number): Float64Array | null {
  const lower = cholesky(matrix, n);
  return lower && solvedBy(lower, right, n);
}

function solvedBy(lower: Float64Array, right: ArrayLike<number>, n: number): Float64Array {
  const x = Float64Array.from(right);
  for (let row = 0; row < n; row++) {
    for (let k = 0; k < row; k++) x[row]! -= lower[row * n + k]! * x[k]!;
    x[row]! /= lower[row * n + row]!;
  }
  for (let row = n - 1; row >= 0; row--) {
    for (let k = row + 1; k < n; k++) x[row]! -= lower[k * n + row]! * x[k]!;
    x[row]! /= lower[row * n + row]!;
  }
  return x;
}

function inverted(matrix: Float64Array, n: number): { matrix: Float64Array; logDeterminant: number } | null {
  const lower = cholesky(matrix, n);
  if (lower === null) return null;
  const inverse = new Float64Array(n * n);
  let logDeterminant = 0;
  for (let column = 0; column < n; column++) {
    const unit = new Float64Array(n);
    unit[column] = 1;
    solvedBy(lower, unit, n).forEach((value, row) => {
      inverse[row * n + column] = value;
    });
    logDeterminant += 2 * Math.log(lower[column * n + column]!);
  }
  return { matrix: inverse, logDeterminant };
}
