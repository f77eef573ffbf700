import { encode } from 'fast-png';
import { type GreyImage, requireGreyImage } from '../grey-image.js';
import { joinBytes, pngChunk, pngSignature } from './png-chunks.js';

/** Compresses bytes into a zlib stream (RFC 1950). */
export type Deflate = (bytes: Uint8Array) => Uint8Array;

/**
 * Writes a grey PNG: 8 bit, or 16 bit. Data of 9 … 15 bit are scaled to 16 as ISO 15948 asks (so that any viewer shows
 * them with the right brightness), and sBIT keeps the true depth.
 *
 * Input    `deflate`: a faster compressor, where the surroundings have one
 * Throws   RangeError for an image that contradicts itself.
 * Checked  property: decodeImage(encodePng(image)) equals the image, 8 … 16 bit, either compressor
 */
export function encodePng(image: GreyImage, { deflate }: { deflate?: Deflate } = {}): Uint8Array {
  requireGreyImage('image', image);
  const { bitDepth } = image;
  const full = bitDepth === 8 ? bytesOf(image.data) : fullRange(image);
  const png = deflate ? assembled(image, full, deflate) : encoded(image, full);
  if (bitDepth === 8 || bitDepth === 16) return png;
  return joinBytes([
    png.subarray(0, headerBytes),
    pngChunk('sBIT', Uint8Array.of(bitDepth)),
    png.subarray(headerBytes),
  ]);
}

/** Signature (8) and IHDR (4 + 4 + 13 + 4). */
const headerBytes = 33;

const bytesOf = (data: GreyImage['data']): Uint8Array => (data instanceof Uint8Array ? data : Uint8Array.from(data));

/** Grey values of 9 … 16 bit over all of 16 bit. */
function fullRange({ bitDepth, data }: GreyImage): Uint16Array {
  const up = 16 - bitDepth;
  const down = bitDepth - up;
  return Uint16Array.from(data, (value) => (value << up) | (value >> down));
}

const encoded = ({ widthPx, heightPx }: GreyImage, data: Uint8Array | Uint16Array): Uint8Array =>
  encode({ width: widthPx, height: heightPx, depth: data instanceof Uint8Array ? 8 : 16, channels: 1, data });

/** Filter of a line: each byte less that of the pixel to its left (ISO 15948, 9.2). */
const leftFilter = 1;

function assembled({ widthPx, heightPx }: GreyImage, data: Uint8Array | Uint16Array, deflate: Deflate): Uint8Array {
  const pixelBytes = data.BYTES_PER_ELEMENT;
  const lineBytes = 1 + widthPx * pixelBytes;
  const lines = new Uint8Array(lineBytes * heightPx);
  for (let y = 0; y < heightPx; y++) {
    let at = y * lineBytes;
    lines[at++] = leftFilter;
    let [high, low] = [0, 0];
    for (let i = y * widthPx; i < (y + 1) * widthPx; i++) {
      const value = data[i]!;
      if (pixelBytes === 2) {
        lines[at++] = (value >> 8) - high;
        high = value >> 8;
      }
      lines[at++] = value - low;
      low = value;
    }
  }
  const header = new Uint8Array(13);
  const view = new DataView(header.buffer);
  view.setUint32(0, widthPx);
  view.setUint32(4, heightPx);
  header[8] = 8 * pixelBytes;
  return joinBytes([
    pngSignature,
    pngChunk('IHDR', header),
    pngChunk('IDAT', deflate(lines)),
    pngChunk('IEND', new Uint8Array()),
  ]);
}
