import { encode } from 'fast-png';
import { type GreyImage, requireGreyImage } from '../grey-image.js';
import { joinBytes, pngChunk } from './png-chunks.js';

/** Signature (8) and IHDR (4 + 4 + 13 + 4). */
const headerBytes = 33;

/**
 * Writes a grey PNG: 8 bit, or 16 bit. Data of 9 … 15 bit are scaled to 16 as ISO 15948 asks (so that any viewer shows
 * them with the right brightness), and sBIT keeps the true depth.
 *
 * Input    `effort`: `quick` for large pictures, in half the time and somewhat larger
 * Throws   RangeError for an image that contradicts itself.
 * Checked  property: decodeImage(encodePng(image)) equals the image, 8 … 16 bit
 */
export function encodePng(
  image: GreyImage,
  { effort = 'thorough' }: { effort?: 'quick' | 'thorough' } = {},
): Uint8Array {
  requireGreyImage('image', image);
  const { widthPx: width, heightPx: height, bitDepth } = image;
  const options = effort === 'quick' ? { zlib: { level: 1 as const } } : {};
  if (bitDepth === 8) {
    const data = image.data instanceof Uint8Array ? image.data : Uint8Array.from(image.data);
    return encode({ width, height, depth: 8, channels: 1, data }, options);
  }
  const up = 16 - bitDepth;
  const down = bitDepth - up;
  const data = Uint16Array.from(image.data, (value) => (value << up) | (value >> down));
  const png = encode({ width, height, depth: 16, channels: 1, data }, options);
  if (bitDepth === 16) return png;
  return joinBytes([
    png.subarray(0, headerBytes),
    pngChunk('sBIT', Uint8Array.of(bitDepth)),
    png.subarray(headerBytes),
  ]);
}
