import type { GreyImage, Region } from '../../../image/index.js';

/**
 * Noise of a pixel from one frame of an unknown sensor.
 *
 * Model    the mask [1 −2 1; −2 4 −2; 1 −2 1] lets no smooth structure through; its mean absolute answer on white noise is
 *          6·σ·√(2/π)
 * Input    a region of at least 3 × 3 px inside the frame
 * Returns  standard deviation in DN; too large where the region is full of fine detail in focus.
 * Source   Immerkær, Comput. Vis. Image Underst. 64, 300 (1996)
 * Checked  recovery: white noise of known σ, tests/procedures/autofocus/classic.test.ts
 */
export function pixelNoiseStdDn({ widthPx, data }: GreyImage, { xPx, yPx, ...size }: Region): number {
  let sum = 0;
  for (let y = yPx + 1; y < yPx + size.heightPx - 1; y++) {
    for (let i = y * widthPx + xPx + 1; i < y * widthPx + xPx + size.widthPx - 1; i++) {
      const corners = data[i - widthPx - 1]! + data[i - widthPx + 1]! + data[i + widthPx - 1]! + data[i + widthPx + 1]!;
      const sides = data[i - widthPx]! + data[i + widthPx]! + data[i - 1]! + data[i + 1]!;
      sum += Math.abs(corners - 2 * sides + 4 * data[i]!);
    }
  }
  return (Math.sqrt(Math.PI / 2) * sum) / (6 * (size.widthPx - 2) * (size.heightPx - 2));
}
