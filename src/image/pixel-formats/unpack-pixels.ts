import { requireInteger } from '../../base/index.js';
import type { GreyImage } from '../grey-image.js';
import { type PixelFormat, pixelFormat, pixelFormatsInWords } from './pixel-format.js';

/**
 * The bytes of a camera's frame as a grey image; a Bayer frame stays a mosaic: see bayerPlane.
 *
 * Input    bytes as the camera sends them, rows one after the other; lineBytes where rows are padded
 * Returns  8 … 16 bit values as they are, nothing scaled; 8-bit data share the bytes' memory
 * Throws   RangeError for a format that is not known, a size below 1 or fewer bytes than the frame needs.
 * Trust    bits above the bit depth in two-byte formats are taken off, as the convention leaves them unused.
 * Cost     one pass
 * Checked  closed form: bit patterns written out by hand; property: round trip with a packer of its own
 */
export function unpackPixels({
  bytes,
  format: name,
  widthPx,
  heightPx,
  lineBytes,
}: {
  bytes: Uint8Array;
  format: string;
  widthPx: number;
  heightPx: number;
  lineBytes?: number;
}): GreyImage {
  const format = pixelFormat(name);
  if (format === null) throw new RangeError(`format is ${name}; allowed: ${pixelFormatsInWords}`);
  requireInteger('widthPx', widthPx, { min: 1, unit: 'px' });
  requireInteger('heightPx', heightPx, { min: 1, unit: 'px' });
  const rowBits = rowBitsOf(format, widthPx);
  if (lineBytes !== undefined) requireInteger('lineBytes', lineBytes, { min: Math.ceil(rowBits / 8), unit: 'bytes' });
  // Without padding the rows of packed formats follow each other bit by bit.
  const needed =
    lineBytes === undefined
      ? Math.ceil(rowBitsOf(format, widthPx * heightPx) / 8)
      : (heightPx - 1) * lineBytes + Math.ceil(rowBits / 8);
  if (bytes.length < needed) {
    throw new RangeError(
      `bytes is ${bytes.length} long; allowed: at least ${needed} for ${widthPx} × ${heightPx} px of ${name}`,
    );
  }
  const { bitDepth, layout } = format;
  if (layout === 'bytes' && (lineBytes === undefined || lineBytes === widthPx)) {
    return { widthPx, heightPx, bitDepth, data: bytes.subarray(0, widthPx * heightPx) };
  }
  const data = layout === 'bytes' ? new Uint8Array(widthPx * heightPx) : new Uint16Array(widthPx * heightPx);
  if (lineBytes === undefined) unpackers[layout]({ bytes, from: 0, data, to: 0, count: data.length, bitDepth });
  else
    for (let row = 0; row < heightPx; row++)
      unpackers[layout]({ bytes, from: row * lineBytes, data, to: row * widthPx, count: widthPx, bitDepth });
  return { widthPx, heightPx, bitDepth, data };
}

/** Bits of so many pixels one after the other. */
function rowBitsOf({ bitDepth, layout }: PixelFormat, count: number): number {
  if (layout === 'bytes') return 8 * count;
  if (layout === 'words') return 16 * count;
  return layout === 'pairs' ? 12 * count : bitDepth * count;
}

interface Run {
  bytes: Uint8Array;
  from: number;
  data: Uint8Array | Uint16Array;
  to: number;
  count: number;
  bitDepth: number;
}

const unpackers: Record<PixelFormat['layout'], (run: Run) => void> = {
  bytes({ bytes, from, data, to, count }) {
    data.set(bytes.subarray(from, from + count), to);
  },
  words({ bytes, from, data, to, count, bitDepth }) {
    const mask = 2 ** bitDepth - 1;
    for (let k = 0; k < count; k++) {
      const at = from + 2 * k;
      data[to + k] = (bytes[at]! | (bytes[at + 1]! << 8)) & mask;
    }
  },
  'bit-stream'({ bytes, from, data, to, count, bitDepth }) {
    const mask = 2 ** bitDepth - 1;
    let held = 0;
    let bits = 0;
    let at = from;
    for (let k = 0; k < count; k++) {
      while (bits < bitDepth) {
        held |= bytes[at++]! << bits;
        bits += 8;
      }
      data[to + k] = held & mask;
      held >>>= bitDepth;
      bits -= bitDepth;
    }
  },
  pairs({ bytes, from, data, to, count, bitDepth }) {
    const low = bitDepth - 8;
    const mask = 2 ** low - 1;
    for (let k = 0; k < count; k++) {
      const at = from + 3 * (k >> 1);
      const middle = bytes[at + 1]!;
      data[to + k] =
        k % 2 === 0 ? (bytes[at]! << low) | (middle & mask) : (bytes[at + 2]! << low) | ((middle >> 4) & mask);
    }
  },
};
