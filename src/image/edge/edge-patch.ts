import type { GreyImage, Region } from '../grey-image.js';

/** A region turned so that its edge runs down the rows and grows brighter to the right. */
export interface EdgePatch {
  rows: number;
  columns: number;
  /** Row-major grey values. */
  grey: Float64Array;
  orientation: 'near-vertical' | 'near-horizontal';
  /** Columns were mirrored to make the edge rise. */
  mirrored: boolean;
}

/** Cuts a region out and turns it by its stronger gradient and by which side is brighter. */
export function edgePatch(image: GreyImage, region: Region): EdgePatch {
  const upright = isUpright(image, region);
  const rows = upright ? region.heightPx : region.widthPx;
  const columns = upright ? region.widthPx : region.heightPx;
  const grey = new Float64Array(rows * columns);
  const mirrored = sideMean(image, region, upright, false) > sideMean(image, region, upright, true);
  const origin = region.yPx * image.widthPx + region.xPx;
  const perRow = upright ? image.widthPx : 1;
  const perColumn = upright ? 1 : image.widthPx;
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const from = mirrored ? columns - 1 - column : column;
      grey[row * columns + column] = image.data[origin + row * perRow + from * perColumn]!;
    }
  }
  return { rows, columns, grey, orientation: upright ? 'near-vertical' : 'near-horizontal', mirrored };
}

/** True where differences along x outweigh those along y, taken over four pixels between means of three. */
function isUpright(image: GreyImage, { xPx, yPx, widthPx, heightPx }: Region): boolean {
  const { data, widthPx: w } = image;
  let alongX = 0;
  let alongY = 0;
  // Some 4000 places are enough.
  const stepPx = Math.max(2, Math.floor(Math.sqrt(widthPx * heightPx) / 64));
  for (let y = yPx + 2; y < yPx + heightPx - 2; y += stepPx) {
    for (let x = xPx + 2; x < xPx + widthPx - 2; x += stepPx) {
      const i = y * w + x;
      const dx =
        data[i + 2]! + data[i + 2 - w]! + data[i + 2 + w]! - data[i - 2]! - data[i - 2 - w]! - data[i - 2 + w]!;
      const dy =
        data[i + 2 * w]! +
        data[i + 2 * w - 1]! +
        data[i + 2 * w + 1]! -
        data[i - 2 * w]! -
        data[i - 2 * w - 1]! -
        data[i - 2 * w + 1]!;
      alongX += dx * dx;
      alongY += dy * dy;
    }
  }
  return alongX >= alongY;
}

/** Mean of the first or last quarter of the columns of the turned patch. */
function sideMean(image: GreyImage, region: Region, upright: boolean, last: boolean): number {
  const width = upright ? Math.ceil(region.widthPx / 4) : region.widthPx;
  const height = upright ? region.heightPx : Math.ceil(region.heightPx / 4);
  const x0 = region.xPx + (upright && last ? region.widthPx - width : 0);
  const y0 = region.yPx + (!upright && last ? region.heightPx - height : 0);
  let sum = 0;
  for (let y = y0; y < y0 + height; y++) {
    for (let x = x0; x < x0 + width; x++) sum += image.data[y * image.widthPx + x]!;
  }
  return sum / (width * height);
}
