import type { BestFocusMap } from './fit-best-focus.js';
import { focusRefusals } from './fit-best-focus.js';

/** Share of a window's energy that its own block must hold, relative to an even spread. */
const ownShareLeast = 0.1;
/** Neighbours that differ by more than this many standard deviations, or quarter-wave half-widths, lie on another surface. */
const sameSurfaceStds = 4;

/**
 * Best focus at the middle of each block, from windows whose texture lies anywhere in them.
 *
 * Model    a window's best focus belongs to the centre of gravity of its texture, not to its middle. A plane through the
 *          neighbours (3 × 3, weighted by uncertainty and nearness, those of another surface left out) at their centres of
 *          gravity is read at the middle of the block. Blocks without texture of their own are refused as flat.
 * Input    `textures`: energy of every block itself, without the window; `quarterWaveHalfWidthDpt` of the model
 * Returns  a new map; standard deviations are those of the plane's value, never below a fifth of the block's own
 * Trust    a surface that curves within three blocks is flattened.
 * Checked  with the whole height map alone: tests/image/stack/height-map.test.ts
 */
export function attributeToBlocks({
  map,
  textures,
  columns,
  rows,
  quarterWaveHalfWidthDpt,
}: {
  map: BestFocusMap;
  textures: Float32Array;
  columns: number;
  rows: number;
  quarterWaveHalfWidthDpt: number;
}): BestFocusMap {
  const count = columns * rows;
  const refusals = Uint8Array.from(map.refusals);
  const offsetX = new Float32Array(count);
  const offsetY = new Float32Array(count);
  for (let at = 0; at < count; at++) {
    if (refusals[at] !== 0) continue;
    const { x, y, ownShare } = centreOfTexture(textures, columns, rows, at);
    offsetX[at] = x;
    offsetY[at] = y;
    if (ownShare < ownShareLeast) refusals[at] = focusRefusals.indexOf('flat');
  }
  const bestFocusDpt = new Float32Array(count).fill(Number.NaN);
  const bestFocusStdDpt = new Float32Array(count).fill(Number.NaN);
  for (let at = 0; at < count; at++) {
    if (refusals[at] !== 0) continue;
    const own = map.bestFocusDpt[at]!;
    const allowed = Math.max(sameSurfaceStds * map.bestFocusStdDpt[at]!, quarterWaveHalfWidthDpt);
    const sums = new Float64Array(6);
    const products = new Float64Array(3);
    const [column, row] = [at % columns, Math.floor(at / columns)];
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) {
        const [x, y] = [column + dx, row + dy];
        if (x < 0 || y < 0 || x >= columns || y >= rows) continue;
        const other = y * columns + x;
        if (map.refusals[other] !== 0) continue;
        const value = map.bestFocusDpt[other]! - own;
        if (Math.abs(value) > allowed) continue;
        const weight = ((2 - Math.abs(dx)) * (2 - Math.abs(dy))) / map.bestFocusStdDpt[other]! ** 2;
        const [px, py] = [dx + offsetX[other]!, dy + offsetY[other]!];
        addTo(sums, weight, px, py);
        products[0] = products[0]! + weight * value;
        products[1] = products[1]! + weight * value * px;
        products[2] = products[2]! + weight * value * py;
      }
    }
    const plane = planeAtZero(sums, products);
    bestFocusDpt[at] = own + plane.value;
    const stated = Math.sqrt(plane.variance * windowOverlap);
    bestFocusStdDpt[at] = Math.max(stated, 0.2 * map.bestFocusStdDpt[at]!);
  }
  return { bestFocusDpt, bestFocusStdDpt, refusals };
}

const kernel = [1, 4, 6, 4, 1];
/** The nine windows share most of their texture, so that their errors are alike: together they weigh as much as one. */
const windowOverlap = 16;

/** Centre of gravity of the texture in a block's window, in blocks from its middle. */
function centreOfTexture(textures: Float32Array, columns: number, rows: number, at: number) {
  const [column, row] = [at % columns, Math.floor(at / columns)];
  let [sum, x, y, weights] = [0, 0, 0, 0];
  for (let dy = -2; dy <= 2; dy++) {
    for (let dx = -2; dx <= 2; dx++) {
      const [c, r] = [column + dx, row + dy];
      if (c < 1 || r < 1 || c > columns - 2 || r > rows - 2) continue;
      const weight = kernel[dx + 2]! * kernel[dy + 2]!;
      const energy = weight * Math.max(0, textures[r * columns + c]!);
      sum += energy;
      x += energy * dx;
      y += energy * dy;
      weights += weight;
    }
  }
  const mean = sum / Math.max(1, weights);
  return { x: x / (sum || 1), y: y / (sum || 1), ownShare: mean > 0 ? textures[at]! / mean : 0 };
}

function addTo(sums: Float64Array, weight: number, x: number, y: number): void {
  sums[0] = sums[0]! + weight;
  sums[1] = sums[1]! + weight * x;
  sums[2] = sums[2]! + weight * y;
  sums[3] = sums[3]! + weight * x * x;
  sums[4] = sums[4]! + weight * x * y;
  sums[5] = sums[5]! + weight * y * y;
}

/** Value and variance at (0, 0) of the weighted plane; the slopes held by a little of the weight where neighbours are few. */
function planeAtZero(sums: Float64Array, [t, tx, ty]: Float64Array): { value: number; variance: number } {
  const [s, sx, sy, sxx, sxy, syy] = sums as unknown as [number, number, number, number, number, number];
  const hold = 0.02 * s;
  const [a, b, c] = [sxx + hold, sxy, syy + hold];
  const slopes = a * c - b * b;
  // Schur complement of the slopes: weight and value left for the constant.
  const weight = s - (sx * (c * sx - b * sy) + sy * (a * sy - b * sx)) / slopes;
  const value = t! - (sx * (c * tx! - b * ty!) + sy * (a * ty! - b * tx!)) / slopes;
  return { value: value / weight, variance: 1 / weight };
}
