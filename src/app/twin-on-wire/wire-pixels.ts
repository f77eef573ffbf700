import type { GreyImage } from '../../image/index.js';
import type { AcquisitionSettings } from './messages.js';

type Settings = Pick<AcquisitionSettings, 'gainDb' | 'pixelFormat' | 'xPx' | 'yPx' | 'widthPx' | 'heightPx'>;

/**
 * A region of an image as the bytes of a frame.
 *
 * Model    gain on the grey values above the black level, rounded; Mono8 of a deeper sensor drops the low bits
 * Input    `blackLevelDn`: of the sensor, in its own bits
 * Returns  8-bit pixels, or 16-bit words with the low byte first; where nothing is to be done, the image's own memory
 * Checked  closed form: tests/app/wire-pixels.test.ts
 */
export function wirePixels(
  image: GreyImage,
  settings: Settings,
  { blackLevelDn }: { blackLevelDn: number },
): Uint8Array {
  const { gainDb, pixelFormat } = settings;
  const grey = amplified(regionOf(image, settings), { gainDb, blackLevelDn, mostDn: 2 ** image.bitDepth - 1 });
  if (pixelFormat !== 'Mono8') return new Uint8Array(grey.buffer, grey.byteOffset, grey.byteLength);
  if (grey instanceof Uint8Array) return grey;
  return highBits(grey, image.bitDepth - 8);
}

function highBits(grey: Uint16Array, shift: number): Uint8Array {
  const eight = new Uint8Array(grey.length);
  for (let i = 0; i < eight.length; i++) eight[i] = grey[i]! >> shift;
  return eight;
}

function regionOf({ data, ...image }: GreyImage, { xPx, yPx, widthPx, heightPx }: Settings): Uint8Array | Uint16Array {
  if (widthPx === image.widthPx && heightPx === image.heightPx) return data;
  const region = data instanceof Uint8Array ? new Uint8Array(widthPx * heightPx) : new Uint16Array(widthPx * heightPx);
  for (let row = 0; row < heightPx; row++) {
    const from = (yPx + row) * image.widthPx + xPx;
    region.set(data.subarray(from, from + widthPx), row * widthPx);
  }
  return region;
}

function amplified(
  grey: Uint8Array | Uint16Array,
  { gainDb, blackLevelDn, mostDn }: { gainDb: number; blackLevelDn: number; mostDn: number },
): Uint8Array | Uint16Array {
  if (gainDb === 0) return grey;
  const ratio = 10 ** (gainDb / 20);
  const table = Uint16Array.from({ length: mostDn + 1 }, (_, seen) =>
    Math.min(mostDn, Math.max(0, Math.round(blackLevelDn + (seen - blackLevelDn) * ratio))),
  );
  return grey instanceof Uint8Array ? looked8(grey, table) : looked16(grey, table);
}

// Two of them, so that each is compiled for one kind of array.
function looked8(grey: Uint8Array, table: Uint16Array): Uint8Array {
  const found = new Uint8Array(grey.length);
  for (let i = 0; i < found.length; i++) found[i] = table[grey[i]!]!;
  return found;
}

function looked16(grey: Uint16Array, table: Uint16Array): Uint16Array {
  const found = new Uint16Array(grey.length);
  for (let i = 0; i < found.length; i++) found[i] = table[grey[i]!]!;
  return found;
}
