import type { GreyImage } from '../../image/index.js';
import type { AcquisitionSettings } from './messages.js';

/**
 * A region of an image as the bytes of a frame.
 *
 * Model    gain on the grey values above the black level; Mono8 of a deeper sensor drops the low bits
 * Input    `blackLevelDn`: of the sensor, in its own bits
 * Returns  8-bit pixels, or 16-bit words with the low byte first
 */
export function wirePixels(
  image: GreyImage,
  { gainDb, pixelFormat, xPx, yPx, widthPx, heightPx }: AcquisitionSettings,
  { blackLevelDn }: { blackLevelDn: number },
): Uint8Array {
  const ratio = 10 ** (gainDb / 20);
  const bits = pixelFormat === 'Mono8' ? 8 : image.bitDepth;
  const isWhole = widthPx === image.widthPx && heightPx === image.heightPx;
  if (ratio === 1 && isWhole && image.data instanceof Uint8Array) return image.data;
  const most = 2 ** image.bitDepth - 1;
  const scale = 2 ** (bits - image.bitDepth);
  const grey = bits === 8 ? new Uint8Array(widthPx * heightPx) : new Uint16Array(widthPx * heightPx);
  for (let row = 0; row < heightPx; row++) {
    const from = (yPx + row) * image.widthPx + xPx;
    for (let column = 0; column < widthPx; column++) {
      const seen = image.data[from + column]!;
      const amplified = ratio === 1 ? seen : Math.min(most, Math.max(0, blackLevelDn + (seen - blackLevelDn) * ratio));
      grey[row * widthPx + column] = Math.floor(amplified * scale + (ratio === 1 ? 0 : 0.5 * scale));
    }
  }
  return grey instanceof Uint8Array ? grey : new Uint8Array(grey.buffer);
}
