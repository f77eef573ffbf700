import { requireNumber } from '../base/index.js';
import { gaussLegendre } from './gauss-legendre.js';

/** The transfer function of a pupil with a fixed spherical aberration, ready for any frequency and defocus. */
export interface AberratedOtfGrid {
  readonly sphericalWaves: number;
  /** Places of frequencies in the grid, for `readAll`. */
  place(normalisedFrequencies: ArrayLike<number>): GridPlaces;
  /** OTF at every placed frequency into `otf`, for a defocus off the balanced focus, in waves. */
  readAll(places: GridPlaces, balancedDefocusWaves: number, otf: Float64Array): void;
}

/** See AberratedOtfGrid.place. */
export interface GridPlaces {
  readonly count: number;
  readonly columns: Int32Array;
  readonly parts: Float64Array;
  /** s·(1 − s): how fast a frequency goes through its ripples as defocus grows. */
  readonly ripples: Float64Array;
}

const columnCount = 48;
const stepsPerRipple = 96;
/** Ripples beyond which nothing but a tail below 0.005 is left. */
const mostRipples = 3;
const rowsPerSide = mostRipples * stepsPerRipple;
const acrossNodes = gaussLegendre(40);
const upNodes = gaussLegendre(28);

/**
 * Fills a grid of aberratedOtf.
 *
 * Model    W(ρ) = δ·ρ² + W040·(ρ⁴ − ρ²): δ is the defocus off the focus of least variance. The grid lies over frequency s and
 *          z = δ·s·(1 − s), along which the ripples of all frequencies are alike; linear between
 * Returns  beyond |z| = 3 the last value, falling as z^−1.5.
 * Cost     filling: some tens of milliseconds; reading: some nanoseconds a frequency.
 * Throws   RangeError unless −1 ≤ sphericalWaves ≤ 1.
 * Trust    within 3e-3 of aberratedOtf.
 * Checked  property: against aberratedOtf, tests/optics/aberrated-otf-grid.test.ts
 */
export function aberratedOtfGrid({ sphericalWaves }: { sphericalWaves: number }): AberratedOtfGrid {
  requireNumber('sphericalWaves', sphericalWaves, { min: -1, max: 1, unit: 'waves' });
  const rows = 2 * rowsPerSide + 1;
  const grid = new Float64Array(columnCount * rows);
  for (let column = 0; column < columnCount; column++) {
    if (sphericalWaves === 0) fillPlainColumn({ grid, column, rows });
    else fillColumn({ grid, column, rows, sphericalWaves });
  }
  return {
    sphericalWaves,
    place(normalisedFrequencies) {
      const count = normalisedFrequencies.length;
      const places = {
        count,
        columns: new Int32Array(count),
        parts: new Float64Array(count),
        ripples: new Float64Array(count),
      };
      for (let i = 0; i < count; i++) {
        const s = normalisedFrequencies[i]!;
        const at = Math.min(s, 1) * columnCount;
        places.columns[i] = s >= 1 ? -1 : Math.floor(at);
        places.parts[i] = at - Math.floor(at);
        places.ripples[i] = s * (1 - s);
      }
      return places;
    },
    readAll({ count, columns, parts, ripples }, balancedDefocusWaves, otf) {
      for (let i = 0; i < count; i++) {
        const column = columns[i]!;
        if (column < 0) {
          otf[i] = 0;
          continue;
        }
        const z = balancedDefocusWaves * ripples[i]!;
        const held = Math.max(-mostRipples, Math.min(mostRipples, z));
        const place = (held + mostRipples) * stepsPerRipple;
        const row = Math.min(rows - 2, Math.floor(place));
        const up = place - row;
        const at = column * rows + row;
        const low = (1 - up) * grid[at]! + up * grid[at + 1]!;
        const isLast = column === columnCount - 1;
        const high = isLast ? 0 : (1 - up) * grid[at + rows]! + up * grid[at + rows + 1]!;
        const value = (1 - parts[i]!) * low + parts[i]! * high;
        otf[i] = held === z ? value : value * (held / z) ** 1.5;
      }
    },
  };
}

/** One frequency at z = −3 … 3, by cos(θ + (n+1)α) = 2·cos α·cos(θ + nα) − cos(θ + (n−1)α) at every node. */
function fillColumn({
  grid,
  column,
  rows,
  sphericalWaves,
}: {
  grid: Float64Array;
  column: number;
  rows: number;
  sphericalWaves: number;
}): void {
  const s = column / columnCount;
  const halfAngle = Math.acos(s) / 2;
  const to = column * rows;
  for (let i = 0; i < upNodes.nodes.length; i++) {
    const angle = halfAngle * (1 + upNodes.nodes[i]!);
    const y = Math.sin(angle);
    const edge = Math.cos(angle);
    const halfWidth = (edge - s) / 2;
    const rowWeight = (4 / Math.PI) * halfAngle * upNodes.weights[i]! * halfWidth * edge;
    for (let j = 0; j < acrossNodes.nodes.length; j += nodesAtOnce) {
      for (let k = 0; k < nodesAtOnce; k++) {
        const x = halfWidth * (1 + acrossNodes.nodes[j + k]!);
        const weight = rowWeight * acrossNodes.weights[j + k]!;
        // Phase by defocus: 8π·s·x·δ with δ = z/(s·(1 − s)).
        const perStep = (8 * Math.PI * x) / (1 - s) / stepsPerRipple;
        const own = 8 * Math.PI * s * x * sphericalWaves * (2 * (x * x + y * y + s * s) - 1);
        const first = own - rowsPerSide * perStep;
        twice[k] = 2 * Math.cos(perStep);
        previous[k] = weight * Math.cos(first - perStep);
        current[k] = weight * Math.cos(first);
      }
      addWaves(grid, to, rows);
    }
  }
}

/** Their recurrences go side by side: each alone would wait for itself. */
const nodesAtOnce = 4;
const twice = new Float64Array(nodesAtOnce);
const previous = new Float64Array(nodesAtOnce);
const current = new Float64Array(nodesAtOnce);

function addWaves(grid: Float64Array, from: number, rows: number): void {
  const [ta, tb, tc, td] = [twice[0]!, twice[1]!, twice[2]!, twice[3]!];
  let [a0, b0, c0, d0] = [previous[0]!, previous[1]!, previous[2]!, previous[3]!];
  let [a1, b1, c1, d1] = [current[0]!, current[1]!, current[2]!, current[3]!];
  // Two rows a turn, so that no value changes its place.
  for (let at = from, end = from + rows - 1; at < end; at += 2) {
    grid[at]! += a1 + b1 + (c1 + d1);
    a0 = ta * a1 - a0;
    b0 = tb * b1 - b0;
    c0 = tc * c1 - c0;
    d0 = td * d1 - d0;
    grid[at + 1]! += a0 + b0 + (c0 + d0);
    a1 = ta * a0 - a1;
    b1 = tb * b0 - b1;
    c1 = tc * c0 - c1;
    d1 = td * d0 - d1;
  }
  grid[from + rows - 1]! += a1 + b1 + (c1 + d1);
}

/** Without aberration the sum over a row is sin(kX)/k; both sides of focus are alike. */
function fillPlainColumn({ grid, column, rows }: { grid: Float64Array; column: number; rows: number }): void {
  const s = column / columnCount;
  const halfAngle = Math.acos(s) / 2;
  const middle = column * rows + rowsPerSide;
  for (let i = 0; i < upNodes.nodes.length; i++) {
    const edge = Math.cos(halfAngle * (1 + upNodes.nodes[i]!));
    const width = edge - s;
    const weight = (4 / Math.PI) * halfAngle * upNodes.weights[i]! * width * edge;
    const perStep = (8 * Math.PI * width) / (1 - s) / stepsPerRipple;
    const doubled = 2 * Math.cos(perStep);
    let before = 0;
    let now = Math.sin(perStep);
    grid[middle]! += weight;
    for (let step = 1; step <= rowsPerSide; step++) {
      grid[middle + step]! += (weight * now) / (step * perStep);
      const next = doubled * now - before;
      before = now;
      now = next;
    }
  }
  for (let step = 1; step <= rowsPerSide; step++) grid[middle - step] = grid[middle + step]!;
}
