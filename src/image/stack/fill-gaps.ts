/**
 * Fills the refused cells of a map from their surroundings, coarse to fine.
 *
 * Model    each coarser map holds the means of the known cells of 2 × 2; gaps take the value above them, read linearly
 * Input    NaN = unknown, row by row
 * Returns  a copy without gaps; all 0 where nothing is known.
 * Trust    a guess for pictures, not a measurement.
 * Checked  degenerate: a map without gaps stays as it is; closed form: a constant fills every gap with itself
 */
export function fillGaps({ map, columns, rows }: { map: Float32Array; columns: number; rows: number }): Float32Array {
  const filled = Float32Array.from(map);
  if (!filled.some(Number.isNaN)) return filled;
  if (columns === 1 && rows === 1) return filled.fill(0);
  const [coarseColumns, coarseRows] = [Math.ceil(columns / 2), Math.ceil(rows / 2)];
  const coarse = new Float32Array(coarseColumns * coarseRows).fill(Number.NaN);
  for (let row = 0; row < coarseRows; row++) {
    for (let column = 0; column < coarseColumns; column++) {
      let sum = 0;
      let known = 0;
      for (let y = 2 * row; y < Math.min(rows, 2 * row + 2); y++) {
        for (let x = 2 * column; x < Math.min(columns, 2 * column + 2); x++) {
          const value = map[y * columns + x]!;
          if (Number.isNaN(value)) continue;
          sum += value;
          known++;
        }
      }
      if (known > 0) coarse[row * coarseColumns + column] = sum / known;
    }
  }
  const above = fillGaps({ map: coarse, columns: coarseColumns, rows: coarseRows });
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      if (!Number.isNaN(filled[y * columns + x]!)) continue;
      filled[y * columns + x] = readLinear(above, coarseColumns, coarseRows, (x - 0.5) / 2, (y - 0.5) / 2);
    }
  }
  return filled;
}

/** A map read between its cells; places beyond the rim take the rim's value. */
export function readLinear(map: Float32Array, columns: number, rows: number, x: number, y: number): number {
  const [cx, cy] = [Math.min(Math.max(x, 0), columns - 1), Math.min(Math.max(y, 0), rows - 1)];
  const [x0, y0] = [
    Math.min(Math.floor(cx), Math.max(0, columns - 2)),
    Math.min(Math.floor(cy), Math.max(0, rows - 2)),
  ];
  const [x1, y1] = [Math.min(x0 + 1, columns - 1), Math.min(y0 + 1, rows - 1)];
  const [u, v] = [cx - x0, cy - y0];
  const upper = map[y0 * columns + x0]! * (1 - u) + map[y0 * columns + x1]! * u;
  const lower = map[y1 * columns + x0]! * (1 - u) + map[y1 * columns + x1]! * u;
  return upper * (1 - v) + lower * v;
}

/** A map of blocks, read linearly for every pixel of the frame. */
export function blocksToPixels({
  map,
  columns,
  rows,
  blockPx,
  widthPx,
  heightPx,
}: {
  map: Float32Array;
  columns: number;
  rows: number;
  blockPx: number;
  widthPx: number;
  heightPx: number;
}): Float32Array {
  const pixels = new Float32Array(widthPx * heightPx);
  const line = new Float32Array(columns);
  for (let y = 0; y < heightPx; y++) {
    const place = Math.min(Math.max((y + 0.5) / blockPx - 0.5, 0), rows - 1);
    const row = Math.min(Math.floor(place), Math.max(0, rows - 2));
    const lower = Math.min(row + 1, rows - 1);
    const v = place - row;
    for (let c = 0; c < columns; c++) line[c] = map[row * columns + c]! * (1 - v) + map[lower * columns + c]! * v;
    for (let x = 0; x < widthPx; x++) {
      const at = Math.min(Math.max((x + 0.5) / blockPx - 0.5, 0), columns - 1);
      const c = Math.min(Math.floor(at), Math.max(0, columns - 2));
      const u = at - c;
      pixels[y * widthPx + x] = line[c]! * (1 - u) + line[Math.min(c + 1, columns - 1)]! * u;
    }
  }
  return pixels;
}
