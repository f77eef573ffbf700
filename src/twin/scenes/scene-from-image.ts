import { requirePositive } from '../../base/index.js';
import { type GreyImage, maxGreyValueDn, requireGreyImage } from '../../image/index.js';
import { type Scene, xOfColumnMm, yOfRowMm } from './canvas.js';

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
  const { data } = image;
  return {
    name: 'photograph',
    paint(canvas) {
      const points = Math.max(1, Math.ceil(canvas.cellWidthMm / pixelMm));
      const across = places(
        canvas.columnCount,
        points,
        image.widthPx,
        (column) => xOfColumnMm(canvas, column) / pixelMm,
      );
      const down = places(canvas.rowCount, points, image.heightPx, (row) => yOfRowMm(canvas, row) / pixelMm);
      const scale = 1 / (maxGreyValueDn(image) * points * points);
      for (let row = 0; row < canvas.rowCount; row++) {
        for (let column = 0; column < canvas.columnCount; column++) {
          let sum = 0;
          for (let i = row * points; i < (row + 1) * points; i++) {
            const upper = down.firsts[i]! * image.widthPx;
            const lower = down.seconds[i]! * image.widthPx;
            for (let j = column * points; j < (column + 1) * points; j++) {
              const [x0, x1, u] = [across.firsts[j]!, across.seconds[j]!, across.shares[j]!];
              const above = data[upper + x0]! + u * (data[upper + x1]! - data[upper + x0]!);
              const below = data[lower + x0]! + u * (data[lower + x1]! - data[lower + x0]!);
              sum += above + down.shares[i]! * (below - above);
            }
          }
          canvas.reflectance[row * canvas.columnCount + column] = sum * scale;
        }
      }
    },
  };
}

/** For every point along one side of the canvas: the two pixels it lies between, and how near the second. */
function places(cellCount: number, points: number, lengthPx: number, placeOf: (cell: number) => number) {
  const firsts = new Int32Array(cellCount * points);
  const seconds = new Int32Array(cellCount * points);
  const shares = new Float64Array(cellCount * points);
  for (let i = 0; i < firsts.length; i++) {
    const cell = Math.floor(i / points);
    const place = placeOf(cell + ((i % points) + 0.5) / points - 0.5) + (lengthPx - 1) / 2;
    const low = Math.floor(place);
    firsts[i] = mirrored(low, lengthPx);
    seconds[i] = mirrored(low + 1, lengthPx);
    shares[i] = place - low;
  }
  return { firsts, seconds, shares };
}

/** Index inside 0 … count − 1 as if the row were mirrored at its ends again and again. */
function mirrored(index: number, count: number): number {
  const place = ((index % (2 * count)) + 2 * count) % (2 * count);
  return place < count ? place : 2 * count - 1 - place;
}
