import { requirePositive } from '../../base/index.js';
import { type GreyImage, maxGreyValueDn, requireGreyImage } from '../../image/index.js';
import { type Canvas, type Scene, xOfColumnMm, yOfRowMm } from './canvas.js';

/**
 * A photograph as a flat target: its grey values become reflectance, its middle lies in the middle of the field. Beyond its
 * borders it is repeated as in a mirror.
 *
 * Model    bilinear between the photograph's pixels; where a cell of the canvas is larger, the mean of several points
 * Input    grey values linear in light; a photograph with a tone curve is taken as it is.
 * Throws   RangeError for a malformed image or a size that is not > 0.
 * Trust    detail finer than the photograph's pixels is not there: choose mmPerPixel so that it is finer than the camera's.
 */
export function sceneFromImage({ image, pixelMm }: { image: GreyImage; pixelMm: number }): Scene {
  requireGreyImage('image', image);
  requirePositive('pixelMm', pixelMm, 'mm');
  return {
    name: 'photograph',
    paint(canvas) {
      const points = Math.max(1, Math.ceil(canvas.cellWidthMm / pixelMm));
      for (let row = 0; row < canvas.rowCount; row++) {
        for (let column = 0; column < canvas.columnCount; column++) {
          canvas.reflectance[row * canvas.columnCount + column] = cellMean(canvas, image, pixelMm, row, column, points);
        }
      }
    },
  };
}

function cellMean(
  canvas: Canvas,
  image: GreyImage,
  pixelMm: number,
  row: number,
  column: number,
  points: number,
): number {
  let sum = 0;
  for (let i = 0; i < points; i++) {
    const yMm = yOfRowMm(canvas, row + (i + 0.5) / points - 0.5);
    for (let j = 0; j < points; j++) {
      const xMm = xOfColumnMm(canvas, column + (j + 0.5) / points - 0.5);
      sum += greyAt(image, xMm / pixelMm + (image.widthPx - 1) / 2, yMm / pixelMm + (image.heightPx - 1) / 2);
    }
  }
  return sum / points ** 2 / maxGreyValueDn(image);
}

function greyAt({ widthPx, heightPx, data }: GreyImage, x: number, y: number): number {
  const left = Math.floor(x);
  const top = Math.floor(y);
  const u = x - left;
  const v = y - top;
  const x0 = mirrored(left, widthPx);
  const x1 = mirrored(left + 1, widthPx);
  const upper = mirrored(top, heightPx) * widthPx;
  const lower = mirrored(top + 1, heightPx) * widthPx;
  const above = data[upper + x0]! + u * (data[upper + x1]! - data[upper + x0]!);
  const below = data[lower + x0]! + u * (data[lower + x1]! - data[lower + x0]!);
  return above + v * (below - above);
}

/** Index inside 0 … count − 1 as if the row were mirrored at its ends again and again. */
function mirrored(index: number, count: number): number {
  const place = ((index % (2 * count)) + 2 * count) % (2 * count);
  return place < count ? place : 2 * count - 1 - place;
}
