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
 * Checked  closed form: a plane seen through uneven texture, tests/image/stack/attribute-to-blocks.test.ts; the whole height map
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
  const { offsetX, offsetY, ownShares } = centresOfTexture(textures, columns, rows);
  for (let at = 0; at < count; at++) {
    if (refusals[at] === 0 && ownShares[at]! < ownShareLeast) refusals[at] = focusRefusals.indexOf('flat');
  }
  const bestFocusDpt = new Float32Array(count).fill(Number.NaN);
  const bestFocusStdDpt = new Float32Array(count).fill(Number.NaN);
  for (let at = 0; at < count; at++) {
    if (refusals[at] !== 0) continue;
    const own = map.bestFocusDpt[at]!;
    const allowed = Math.max(sameSurfaceStds * map.bestFocusStdDpt[at]!, quarterWaveHalfWidthDpt);
    const [column, row] = [at % columns, Math.floor(at / columns)];
    // Sums of the weighted plane: s = Σ w, sx = Σ w·x …, t = Σ w·value …
    let [s, sx, sy, sxx, sxy, syy, t, tx, ty] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
    for (let dy = -1; dy <= 1; dy++) {
      if (row + dy < 0 || row + dy >= rows) continue;
      for (let dx = -1; dx <= 1; dx++) {
        if (column + dx < 0 || column + dx >= columns) continue;
        const other = at + dy * columns + dx;
        if (map.refusals[other] !== 0) continue;
        const value = map.bestFocusDpt[other]! - own;
        if (Math.abs(value) > allowed) continue;
        const weight = ((2 - Math.abs(dx)) * (2 - Math.abs(dy))) / map.bestFocusStdDpt[other]! ** 2;
        const [x, y] = [dx + offsetX[other]!, dy + offsetY[other]!];
        s += weight;
        sx += weight * x;
        sy += weight * y;
        sxx += weight * x * x;
        sxy += weight * x * y;
        syy += weight * y * y;
        t += weight * value;
        tx += weight * value * x;
        ty += weight * value * y;
      }
    }
    // The slopes are held by a little of the weight where neighbours are few.
    const [a, c] = [sxx + 0.02 * s, syy + 0.02 * s];
    const slopes = a * c - sxy * sxy;
    // Schur complement of the slopes: weight and value left for the constant.
    const weight = s - (sx * (c * sx - sxy * sy) + sy * (a * sy - sxy * sx)) / slopes;
    const value = t - (sx * (c * tx - sxy * ty) + sy * (a * ty - sxy * tx)) / slopes;
    bestFocusDpt[at] = own + value / weight;
    bestFocusStdDpt[at] = Math.max(Math.sqrt(windowOverlap / weight), 0.2 * map.bestFocusStdDpt[at]!);
  }
  return { bestFocusDpt, bestFocusStdDpt, refusals };
}

const kernel = [1, 4, 6, 4, 1];
/** The nine windows share most of their texture, so that their errors are alike: together they weigh as much as one. */
const windowOverlap = 16;

/** Centre of gravity of the texture in each block's window, in blocks from its middle, and the block's own share of it. */
function centresOfTexture(textures: Float32Array, columns: number, rows: number) {
  const offsetX = new Float32Array(textures.length);
  const offsetY = new Float32Array(textures.length);
  const ownShares = new Float32Array(textures.length);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      let [sum, x, y, weights] = [0, 0, 0, 0];
      for (let dy = Math.max(-2, 1 - row); dy <= Math.min(2, rows - 2 - row); dy++) {
        for (let dx = Math.max(-2, 1 - column); dx <= Math.min(2, columns - 2 - column); dx++) {
          const weight = kernel[dx + 2]! * kernel[dy + 2]!;
          const energy = weight * Math.max(0, textures[(row + dy) * columns + column + dx]!);
          sum += energy;
          x += energy * dx;
          y += energy * dy;
          weights += weight;
        }
      }
      const at = row * columns + column;
      const mean = sum / Math.max(1, weights);
      offsetX[at] = x / (sum || 1);
      offsetY[at] = y / (sum || 1);
      ownShares[at] = mean > 0 ? textures[at]! / mean : 0;
    }
  }
  return { offsetX, offsetY, ownShares };
}
