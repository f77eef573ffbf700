/** A place near the top of a log density. */
export interface Top {
  place: Float64Array;
  logDensity: number;
  /** Lengths at which the density falls by about a half in its logarithm. */
  steps: Float64Array;
}

/** A point of a profile: the density at one value of the first unknown, integrated over the others. */
export interface ProfilePoint {
  place: Float64Array;
  /** Density at `place`. */
  logDensity: number;
  /** Logarithm of the integral over the other unknowns. */
  logMass: number;
}

/** A profile point before its integral is evened out. */
interface RawPoint {
  place: Float64Array;
  logDensity: number;
  logVolume: number;
}

const mostRounds = 7;
const closeEnough = 0.05;
const mostStep = 2.5;
/** Flatter than this, in units of the steps, is flat. */
const leastCurvature = 0.005;

/**
 * Climbs to the top of a smooth log density.
 *
 * Model    a parabola through values a step off in every direction and pair of directions; Newton's step, cut to a few steps'
 *          length and damped where the density is not rounded, taken as long as it climbs
 * Input    `steps`: lengths at which the density changes by about one in its logarithm; 0 holds a direction fixed.
 * Checked  closed form: a normal density, tests/procedures/refine-peak.test.ts
 */
export function climb({
  start,
  steps: firstSteps,
  logDensity,
}: {
  start: ArrayLike<number>;
  steps: ArrayLike<number>;
  logDensity: (place: Float64Array) => number;
}): Top {
  const steps = Float64Array.from(firstSteps);
  const free = freeOf(steps);
  const place = Float64Array.from(start);
  let value = logDensity(place);
  for (let round = 0; round < mostRounds; round++) {
    const shape = parabolaAbout({ place, value, free, steps, logDensity });
    const solved = solve(shape.curvature, shape.slope, free.length);
    const longest = solved.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
    let share = Math.min(1, mostStep / Math.max(longest, 1e-9));
    let climbed = false;
    for (let third = 0; third < 3 && !climbed; third++, share /= 3) {
      const tried = place.slice();
      free.forEach((i, a) => {
        tried[i]! += share * solved[a]! * steps[i]!;
      });
      const found = logDensity(tried);
      if (found <= value) continue;
      climbed = true;
      if (longest * share < closeEnough || found - value < closeEnough) round = mostRounds;
      place.set(tried);
      value = found;
    }
    adapt({ steps, free, shape, firstSteps });
    if (!climbed) break;
  }
  return { place, logDensity: value, steps };
}

const mostPoints = 10;
/** Fall from the highest point, in the logarithm, at which a profile ends. */
const deepEnough = 6;
/** Fall between neighbours below which the next lies farther off, and above which it lies nearer. */
const gentleFall = 0.6;
const steepFall = 2;

/**
 * Density of the first unknown alone, from a top outwards.
 *
 * Model    at each value the other unknowns are led to their own top by one of Newton's steps from their neighbour's, and
 *          integrated as a normal density (Laplace)
 * Returns  points in order of the first unknown.
 */
export function profileAlongFirst({
  top: { place: topPlace, steps },
  farthest,
  logDensity,
}: {
  top: Top;
  /** The profile goes at most so far to either side. */
  farthest: number;
  logDensity: (place: Float64Array) => number;
}): ProfilePoint[] {
  const others = steps.slice();
  others[0] = 0;
  const middle = pointNear({ start: topPlace, steps: others, logDensity });
  let highest = middle.logDensity;
  const side = (sign: number): RawPoint[] => {
    const points: RawPoint[] = [];
    let last = middle;
    let before: RawPoint | null = null;
    let step = steps[0]!;
    while (points.length < mostPoints && Math.abs(last.place[0]! - topPlace[0]!) < farthest) {
      const start = last.place.slice();
      // The others go on as they did from the point before.
      if (before !== null) {
        const ratio = step / Math.abs(last.place[0]! - before.place[0]!);
        for (let i = 1; i < start.length; i++) start[i]! += ratio * (last.place[i]! - before.place[i]!);
      }
      start[0]! = last.place[0]! + sign * step;
      const point = pointNear({ start, steps: others, logDensity });
      points.push(point);
      const fall = last.logDensity - point.logDensity;
      if (fall < gentleFall) step *= 1.6;
      else if (fall > steepFall) step /= 1.5;
      highest = Math.max(highest, point.logDensity);
      before = last;
      last = point;
      if (point.logDensity < highest - deepEnough) break;
    }
    return points;
  };
  const points = [...side(-1).reverse(), middle, ...side(1)];
  // Volumes change little along a profile, and each alone is rough.
  const logVolume = points.reduce((sum, point) => sum + point.logVolume, 0) / points.length;
  return points.map((point) => ({
    place: point.place,
    logDensity: point.logDensity,
    logMass: point.logDensity + logVolume,
  }));
}

/** The other unknowns' top near a place, by one step, and their integral. */
function pointNear({
  start,
  steps,
  logDensity,
}: {
  start: Float64Array;
  steps: Float64Array;
  logDensity: (place: Float64Array) => number;
}): RawPoint {
  const free = freeOf(steps);
  const n = free.length;
  const value = logDensity(start);
  if (n === 0) return { place: start, logDensity: value, logVolume: 0 };
  const { slope, curvature } = parabolaAbout({ place: start, value, free, steps, logDensity });
  const lower = damped(curvature, n);
  let best = { place: start, logDensity: value };
  if (lower !== null) {
    const solved = solvedBy(lower, slope, n);
    const longest = solved.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
    const share = Math.min(1, mostStep / Math.max(longest, 1e-9));
    const tried = start.slice();
    free.forEach((i, a) => {
      tried[i]! += share * solved[a]! * steps[i]!;
    });
    const found = logDensity(tried);
    if (found > value) best = { place: tried, logDensity: found };
  }
  let logDeterminant = 0;
  if (lower !== null) for (let i = 0; i < n; i++) logDeterminant += 2 * Math.log(lower[i * n + i]!);
  const stepVolume = free.reduce((sum, i) => sum + Math.log(steps[i]!), 0);
  return { ...best, logVolume: (n / 2) * Math.log(2 * Math.PI) - logDeterminant / 2 + stepVolume };
}

const freeOf = (steps: Float64Array): number[] => Array.from(steps, (_, i) => i).filter((i) => steps[i]! > 0);

const leastStepRatio = 1 / 12;
const mostStepRatio = 2;

/** Steps at which the density falls by about a half in its logarithm, neither in its noise nor beyond its parabola. */
function adapt({
  steps,
  free,
  shape,
  firstSteps,
}: {
  steps: Float64Array;
  free: readonly number[];
  shape: Parabola;
  firstSteps: ArrayLike<number>;
}): void {
  free.forEach((i, a) => {
    const wanted = steps[i]! / Math.sqrt(Math.max(0.05, shape.curvature[a * free.length + a]!));
    steps[i] = firstSteps[i]! * Math.max(leastStepRatio, Math.min(mostStepRatio, wanted / firstSteps[i]!));
  });
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
  const off = place.slice();
  free.forEach((i, a) => {
    off[i] = place[i]! + steps[i]!;
    const up = logDensity(off);
    off[i] = place[i]! - steps[i]!;
    const down = logDensity(off);
    off[i] = place[i]!;
    slope[a] = (up - down) / 2;
    curvature[a * n + a] = 2 * value - up - down;
  });
  for (let a = 0; a < n; a++) {
    for (let b = 0; b < a; b++) {
      const [i, j] = [free[a]!, free[b]!];
      off[i] = place[i]! + steps[i]!;
      off[j] = place[j]! + steps[j]!;
      const both = logDensity(off);
      off[i] = place[i]! - steps[i]!;
      off[j] = place[j]! - steps[j]!;
      const neither = logDensity(off);
      off[i] = place[i]!;
      off[j] = place[j]!;
      // Second derivative along the diagonal, less those along its sides.
      const mixed = (2 * value - both - neither - curvature[a * n + a]! - curvature[b * n + b]!) / 2;
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
        if (!(sum > leastCurvature)) return null;
        lower[row * n + row] = Math.sqrt(sum);
      } else lower[row * n + column] = sum / lower[column * n + column]!;
    }
  }
  return lower;
}

/** Added to the curvature, in turn, until it is that of a top. */
const dampings = [0, 0.02, 0.1, 0.5, 2, 10, 50, 250, 1250];

function damped(matrix: Float64Array, n: number): Float64Array | null {
  for (const damping of dampings) {
    const raised = matrix.slice();
    for (let i = 0; i < n; i++) raised[i * n + i]! += damping;
    const lower = cholesky(raised, n);
    if (lower !== null) return lower;
  }
  return null;
}

/** Newton's step, damped where the density is not rounded; straight uphill where nothing else helps. */
function solve(matrix: Float64Array, right: Float64Array, n: number): Float64Array {
  const lower = damped(matrix, n);
  return lower === null ? right : solvedBy(lower, right, n);
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
