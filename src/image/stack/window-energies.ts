/**
 * A map of blocks, averaged over a window around each block and brought to the scale of the reference frame.
 *
 * Model    window = the block's own square ⊗ (1 4 6 4 1)/16 each way, the outermost blocks left out (their energy is cut);
 *          then read at middle + scale · (place − middle) by cubic Lagrange interpolation, which keeps the window's width
 * Input    a map of columns × rows; `scale` of the frame relative to the reference; size of the frame
 * Returns  one value per block of the reference; places beyond the map take its rim.
 * Checked  closed form: a cubic surface is scaled exactly, tests/image/stack/window-energies.test.ts
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
  for (let row = 0; row < rows; row++) smoothLine(map, across, row * columns, 1, columns);
  const smooth = new Float32Array(map.length);
  for (let column = 0; column < columns; column++) smoothLine(across, smooth, column, columns, rows);
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
  const x = places(columns, blockPx, widthPx, scale);
  const scaled = new Float32Array(map.length);
  for (let row = 0; row < rows; row++) readLine(map, scaled, row * columns, 1, columns, x);
  const y = places(rows, blockPx, heightPx, scale);
  const result = new Float32Array(map.length);
  for (let column = 0; column < columns; column++) readLine(scaled, result, column, columns, rows, y);
  return result;
}

/** Pixels that the window amounts to: 1 / Σ w². */
export const windowAreaPx2 = (blockPx: number): number => (blockPx * (256 / 70)) ** 2;

const kernel = [1, 4, 6, 4, 1];

function smoothLine(from: Float32Array, to: Float32Array, start: number, step: number, count: number): void {
  for (let i = 0; i < count; i++) {
    let sum = 0;
    let weight = 0;
    for (let k = -2; k <= 2; k++) {
      const j = i + k;
      if (j < 1 || j > count - 2) continue;
      const w = kernel[k + 2]!;
      sum += w * from[start + j * step]!;
      weight += w;
    }
    to[start + i * step] = weight > 0 ? sum / weight : from[start + i * step]!;
  }
}

/** Where in a frame's blocks the blocks of the reference lie. */
function places(count: number, blockPx: number, sizePx: number, scale: number): Float64Array {
  const middle = (sizePx / 2) / blockPx - 0.5;
  return Float64Array.from({ length: count }, (_, b) => middle + scale * (b - middle));
}

function readLine(
  from: Float32Array,
  to: Float32Array,
  start: number,
  step: number,
  count: number,
  at: Float64Array,
): void {
  for (let i = 0; i < count; i++) {
    const place = Math.min(Math.max(at[i]!, 0), count - 1);
    const first = Math.min(Math.max(Math.floor(place) - 1, 0), Math.max(0, count - 4));
    const t = place - first;
    if (count < 4) {
      to[start + i * step] = from[start + Math.round(place) * step]!;
      continue;
    }
    const at0 = start + first * step;
    const [a, b, c, d] = [from[at0]!, from[at0 + step]!, from[at0 + 2 * step]!, from[at0 + 3 * step]!];
    to[start + i * step] =
      (-a * (t - 1) * (t - 2) * (t - 3)) / 6 +
      (b * t * (t - 2) * (t - 3)) / 2 -
      (c * t * (t - 1) * (t - 3)) / 2 +
      (d * t * (t - 1) * (t - 2)) / 6;
  }
}
