/**
 * A map of blocks, averaged over a window around each block and brought to the scale of the reference frame.
 *
 * Model    window = the block's own square ⊗ (1 4 6 4 1)/16 each way, the outermost blocks left out (their energy is cut);
 *          then read at middle + scale · (place − middle) by cubic Lagrange interpolation, which keeps the window's width
 * Input    a map of columns × rows; `scale` of the frame relative to the reference; size of the frame
 * Returns  one value per block of the reference; places beyond the map take its rim.
 * Checked  closed form: a sloping map, tests/image/stack/fuse-frames.test.ts
 */
export function windowEnergies({
  map,
  columns,
  rows,
  blockPx,
  widthPx,
  heightPx,
  scale,
}: {
  map: Float32Array;
  columns: number;
  rows: number;
  blockPx: number;
  widthPx: number;
  heightPx: number;
  scale: number;
}): Float32Array {
  const across = new Float32Array(map.length);
  for (let row = 0; row < rows; row++) smoothLine(map, across, row * columns, columns);
  const smooth = new Float32Array(map.length);
  const total = new Float64Array(columns);
  for (let row = 0; row < rows; row++) {
    total.fill(0);
    let weight = 0;
    for (let k = -2; k <= 2; k++) {
      const other = row + k;
      if (other < 1 || other > rows - 2) continue;
      const w = kernel[k + 2]!;
      weight += w;
      const at = other * columns;
      for (let c = 0; c < columns; c++) total[c] = total[c]! + w * across[at + c]!;
    }
    const start = row * columns;
    for (let c = 0; c < columns; c++) smooth[start + c] = total[c]! / weight;
  }
  return scaledMap({ map: smooth, columns, rows, blockPx, widthPx, heightPx, scale });
}

/** A map of a frame's blocks as the reference frame's blocks would see it; as windowEnergies, without the window. */
export function scaledMap({
  map,
  columns,
  rows,
  blockPx,
  widthPx,
  heightPx,
  scale,
}: {
  map: Float32Array;
  columns: number;
  rows: number;
  blockPx: number;
  widthPx: number;
  heightPx: number;
  scale: number;
}): Float32Array {
  if (scale === 1) return map;
  const x = lagrangePlaces({ count: columns, blockPx, sizePx: widthPx, scale });
  const across = new Float32Array(map.length);
  for (let row = 0; row < rows; row++) {
    const start = row * columns;
    for (let c = 0; c < columns; c++) {
      const at = start + x.first[c]!;
      const w = 4 * c;
      across[start + c] =
        x.weights[w]! * map[at]! +
        x.weights[w + 1]! * map[at + 1]! +
        x.weights[w + 2]! * map[at + 2]! +
        x.weights[w + 3]! * map[at + 3]!;
    }
  }
  const y = lagrangePlaces({ count: rows, blockPx, sizePx: heightPx, scale });
  const result = new Float32Array(map.length);
  for (let row = 0; row < rows; row++) {
    const [w0, w1, w2, w3] = y.weights.subarray(4 * row, 4 * row + 4) as unknown as [number, number, number, number];
    const from = y.first[row]! * columns;
    for (let c = 0; c < columns; c++) {
      const at = from + c;
      result[row * columns + c] =
        w0 * across[at]! + w1 * across[at + columns]! + w2 * across[at + 2 * columns]! + w3 * across[at + 3 * columns]!;
    }
  }
  return result;
}

/** Pixels that the window amounts to: 1 / Σ w². */
export const windowAreaPx2 = (blockPx: number): number => (blockPx * (256 / 70)) ** 2;

const kernel = [1, 4, 6, 4, 1];

function smoothLine(from: Float32Array, to: Float32Array, start: number, count: number): void {
  for (let i = 3; i < count - 3; i++) {
    const at = start + i;
    to[at] = (from[at - 2]! + from[at + 2]! + 4 * (from[at - 1]! + from[at + 1]!) + 6 * from[at]!) / 16;
  }
  // Near the ends the window is cut.
  for (let i = 0; i < count; i++) {
    if (i === 3 && count > 6) i = count - 3;
    let sum = 0;
    let weight = 0;
    for (let k = Math.max(-2, 1 - i); k <= Math.min(2, count - 2 - i); k++) {
      const w = kernel[k + 2]!;
      sum += w * from[start + i + k]!;
      weight += w;
    }
    to[start + i] = sum / weight;
  }
}

/** Where in a frame's blocks the blocks of the reference lie: the first of four, and their Lagrange weights. */
export function lagrangePlaces({
  count,
  blockPx,
  sizePx,
  scale,
}: {
  count: number;
  blockPx: number;
  sizePx: number;
  scale: number;
}) {
  const middle = sizePx / 2 / blockPx - 0.5;
  const first = new Int32Array(count);
  const weights = new Float64Array(4 * count);
  for (let b = 0; b < count; b++) {
    const place = Math.min(Math.max(middle + scale * (b - middle), 0), count - 1);
    first[b] = Math.min(Math.max(Math.floor(place) - 1, 0), count - 4);
    const t = place - first[b]!;
    weights[4 * b] = (-(t - 1) * (t - 2) * (t - 3)) / 6;
    weights[4 * b + 1] = (t * (t - 2) * (t - 3)) / 2;
    weights[4 * b + 2] = (-t * (t - 1) * (t - 3)) / 2;
    weights[4 * b + 3] = (t * (t - 1) * (t - 2)) / 6;
  }
  return { first, weights };
}
