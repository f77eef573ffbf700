import { type Blur, type BlurredImager, radialEntry } from './blur.js';
import { fourierSeries } from './fourier-series.js';
import { directionPlace, polarValue, radiusPlace } from './polar-transfer.js';
import { highestFrequencyPerMm, type RenderGrid, radialFrequencyPerMm } from './render-grid.js';

/**
 * Blurred, scaled images of a scene by plain sums: the readable measure for blurred-image.fast.ts.
 *
 * Model    the scene is periodic; linear, shift-invariant blur. Pixel (0, 0) is top left; the middle of the sensor sees the
 *          middle of the piece.
 * Formula  I(r, c) = Σ_ky Σ_kx S(ky, kx)·H(ky, kx)·exp(2πi·(kx·x_c/W + ky·y_r/H)), x_c = (c − (columns − 1)/2)·pixel + W/2
 * Trust    for small images only: its cost grows with the third power of the size.
 * Checked  closed form: sinusoids, tests/twin/render/blurred-image.test.ts (the same table for both versions)
 */
export function blurredImager({ widthPx, heightPx }: { widthPx: number; heightPx: number }): BlurredImager {
  let grid: RenderGrid;
  let scene: { real: Float64Array; imaginary: Float64Array };
  return {
    strideCount: widthPx,
    loadScene(newGrid, reflectance) {
      grid = newGrid;
      const { gridColumnCount: columnCount, gridRowCount: rowCount, halfColumnCount, halfRowCount } = grid;
      scene = fourierSeries(reflectance, { columnCount, rowCount, halfColumnCount, halfRowCount });
    },
    image: (blur) => drawImage({ grid, scene, blur, widthPx, heightPx }),
  };
}

function drawImage({
  grid,
  scene,
  blur,
  widthPx,
  heightPx,
}: {
  grid: RenderGrid;
  scene: { real: Float64Array; imaginary: Float64Array };
  blur: Blur;
  widthPx: number;
  heightPx: number;
}): Float32Array {
  const { halfColumnCount, halfRowCount } = grid;
  const highest = highestFrequencyPerMm(grid);
  const image = new Float32Array(widthPx * heightPx);
  const lens = new Float64Array(2);
  const lineReal = new Float64Array(halfColumnCount + 1);
  const lineImaginary = new Float64Array(halfColumnCount + 1);
  for (let row = 0; row < heightPx; row++) {
    const y = placeInPeriod(row, heightPx, blur.pixelOnObjectMm, grid.periodHeightMm, grid.gridRowCount);
    lineReal.fill(0);
    lineImaginary.fill(0);
    for (let ky = -halfRowCount; ky <= halfRowCount; ky++) {
      const c = Math.cos(2 * Math.PI * ky * y);
      const s = Math.sin(2 * Math.PI * ky * y);
      for (let kx = 0; kx <= halfColumnCount; kx++) {
        const h = blur.columnTransfer[kx]! * blur.rowTransfer[Math.abs(ky)]!;
        lensTransferAt(grid, blur, { kx, ky, highest }, lens);
        const from = (ky + halfRowCount) * (halfColumnCount + 1) + kx;
        const real = h * (scene.real[from]! * lens[0]! - scene.imaginary[from]! * lens[1]!);
        const imaginary = h * (scene.real[from]! * lens[1]! + scene.imaginary[from]! * lens[0]!);
        lineReal[kx]! += real * c - imaginary * s;
        lineImaginary[kx]! += real * s + imaginary * c;
      }
    }
    for (let column = 0; column < widthPx; column++) {
      const x = placeInPeriod(column, widthPx, blur.pixelOnObjectMm, grid.periodWidthMm, grid.gridColumnCount);
      let sum = lineReal[0]!;
      for (let kx = 1; kx <= halfColumnCount; kx++) {
        const phase = 2 * Math.PI * kx * x;
        sum += 2 * (lineReal[kx]! * Math.cos(phase) - lineImaginary[kx]! * Math.sin(phase));
      }
      image[row * widthPx + column] = sum;
    }
  }
  return image;
}

/** The lens's transfer function at one frequency, written to `to` as [real, imaginary]. */
function lensTransferAt(
  grid: RenderGrid,
  { radialTransfer, polarTransfer }: Blur,
  { kx, ky, highest }: { kx: number; ky: number; highest: number },
  to: Float64Array,
): void {
  const radial = radialFrequencyPerMm(grid, kx, ky);
  if (polarTransfer === null) {
    to[0] = radialTransfer[radialEntry(radial, highest)]!;
    to[1] = 0;
    return;
  }
  const direction = directionPlace(kx / grid.periodWidthMm, ky / grid.periodHeightMm);
  polarValue(polarTransfer, { direction, radius: radiusPlace(radial, highest) }, to, 0);
  if (ky < 0) to[1] = -to[1]!;
}

/**
 * Where a pixel's middle lies in the period, 0 … 1. Scene samples are means over cells: sample i has its middle at
 * (i + ½) / sampleCount, and that half cell is taken off here.
 */
export function placeInPeriod(
  pixel: number,
  pixelCount: number,
  pixelOnObjectMm: number,
  periodMm: number,
  sampleCount: number,
): number {
  return 0.5 + ((pixel - (pixelCount - 1) / 2) * pixelOnObjectMm) / periodMm - 0.5 / sampleCount;
}
