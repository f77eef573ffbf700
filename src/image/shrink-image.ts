import { requireInteger } from '../base/index.js';
import { type GreyImage, requireGreyImage } from './grey-image.js';

/**
 * A smaller picture of a frame, 8 bit, for a person to look at.
 *
 * Model    mean of each block of `factor` × `factor` pixels; the rest at the right and lower border is left out; grey values are
 *          scaled from the frame's bit depth to 8 bit.
 * Shape    floor(rows / factor) × floor(columns / factor)
 * Throws   RangeError if the factor is not a whole number ≥ 1 that leaves at least one pixel.
 * Trust    to look at, not to measure: noise and sharpness are not those of the frame.
 */
export function shrinkImage({ image, factor }: { image: GreyImage; factor: number }): GreyImage {
  requireGreyImage('image', image);
  requireInteger('factor', factor, { min: 1, max: Math.min(image.widthPx, image.heightPx) });
  const widthPx = Math.floor(image.widthPx / factor);
  const heightPx = Math.floor(image.heightPx / factor);
  const data = new Uint8Array(widthPx * heightPx);
  const toByte = 255 / (2 ** image.bitDepth - 1) / (factor * factor);
  for (let row = 0; row < heightPx; row++) {
    for (let column = 0; column < widthPx; column++) {
      let sum = 0;
      for (let y = 0; y < factor; y++) {
        const start = (row * factor + y) * image.widthPx + column * factor;
        for (let x = 0; x < factor; x++) sum += image.data[start + x]!;
      }
      data[row * widthPx + column] = Math.round(sum * toByte);
    }
  }
  return { widthPx, heightPx, bitDepth: 8, data };
}
