import type { GreyImage } from '../grey-image.js';
import { unreadable } from './unreadable.js';

const fullScaleDn = 65535;

/**
 * Grey values from floating-point samples, as 16 bit. Where none exceeds 1, 1 is full scale (as image software writes
 * them); else they are grey values and rounded to whole ones.
 *
 * Throws   FocuswrightError image-unreadable for NaN, infinite, negative values and those above 65535, with the pixel.
 */
export function greyFromFloats({
  file,
  widthPx,
  heightPx,
  samples,
}: {
  file: string;
  widthPx: number;
  heightPx: number;
  samples: ArrayLike<number>;
}): GreyImage {
  const count = widthPx * heightPx;
  if (samples.length !== count)
    throw unreadable(file, `${samples.length} samples where ${count} are declared (truncated)`);
  let most = 0;
  for (let i = 0; i < count; i++) {
    const value = samples[i]!;
    if (!(value >= 0 && value <= fullScaleDn)) {
      const where = `at pixel ${i % widthPx}, ${Math.floor(i / widthPx)}`;
      throw unreadable(file, `a floating-point value of ${value} ${where}; readable: 0 … 1, or 0 … ${fullScaleDn}`);
    }
    if (value > most) most = value;
  }
  const scale = most <= 1 ? fullScaleDn : 1;
  const data = new Uint16Array(count);
  for (let i = 0; i < count; i++) data[i] = Math.round(samples[i]! * scale);
  return { widthPx, heightPx, bitDepth: 16, data };
}
