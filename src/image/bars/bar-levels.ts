import type { GreyImage, Region } from '../grey-image.js';

/** Means of blocks of a region, turned so that the bars looked for run down the rows. A block is blockPx wide and twice as high. */
export interface BarLevel {
  columns: number;
  rows: number;
  blockPx: number;
  grey: Float32Array;
}

/**
 * The region in coarser and coarser blocks, for bars that run down the rows (or along them: the picture is transposed).
 * A block is twice as long along the bars as across: bars are five times as long as wide, so noise is averaged and nothing lost.
 */
export function barLevels(image: GreyImage, region: Region, barsRun: 'vertical' | 'horizontal'): BarLevel[] {
  const levels: BarLevel[] = [finest(image, region, barsRun)];
  for (;;) {
    const last = levels.at(-1)!;
    if (last.columns < 24 || last.rows < 8) return levels;
    levels.push(halved(last));
  }
}

function finest({ data, widthPx: w }: GreyImage, region: Region, barsRun: 'vertical' | 'horizontal'): BarLevel {
  const upright = barsRun === 'vertical';
  const columns = upright ? region.widthPx : region.heightPx;
  const rows = (upright ? region.heightPx : region.widthPx) >> 1;
  const perColumn = upright ? 1 : w;
  const perRow = upright ? w : 1;
  const origin = region.yPx * w + region.xPx;
  const grey = new Float32Array(columns * rows);
  // The inner loop follows the memory in both cases.
  if (upright) {
    for (let y = 0; y < rows; y++) {
      const from = origin + 2 * y * perRow;
      for (let x = 0; x < columns; x++) grey[y * columns + x] = (data[from + x]! + data[from + x + w]!) / 2;
    }
  } else {
    for (let x = 0; x < columns; x++) {
      const from = origin + x * perColumn;
      for (let y = 0; y < rows; y++) grey[y * columns + x] = (data[from + 2 * y]! + data[from + 2 * y + 1]!) / 2;
    }
  }
  return { columns, rows, blockPx: 1, grey };
}

function halved({ columns, rows, blockPx, grey }: BarLevel): BarLevel {
  const c = columns >> 1;
  const r = rows >> 1;
  const out = new Float32Array(c * r);
  for (let y = 0; y < r; y++) {
    const from = 2 * y * columns;
    for (let x = 0; x < c; x++) {
      const i = from + 2 * x;
      out[y * c + x] = (grey[i]! + grey[i + 1]! + grey[i + columns]! + grey[i + columns + 1]!) / 4;
    }
  }
  return { columns: c, rows: r, blockPx: 2 * blockPx, grey: out };
}
