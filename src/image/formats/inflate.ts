import { Unzlib } from 'fflate';
import { unreadable } from './unreadable.js';

const chunkBytes = 1 << 14;

/** The error for data that inflate beyond what the declared size allows. */
export const beyondLimit = (file: string, limit: number) =>
  unreadable(file, `compressed data of more than the ${limit} bytes its size allows`);

/** Inflates a zlib stream (RFC 1950). Throws anything where it is damaged or gives more than the limit. */
export type Inflate = (bytes: Uint8Array, limitBytes: number) => Uint8Array;

/**
 * Bytes that a zlib stream, given in pieces, inflates to; stops with image-unreadable as soon as they exceed `limit`, so
 * that a small file cannot fill the memory. Nothing is kept.
 */
export function inflatedLength(file: string, pieces: readonly Uint8Array[], limit: number): number {
  let length = 0;
  inflatePieces(file, pieces, limit, (chunk) => {
    length += chunk.length;
    return length;
  });
  return length;
}

/** What a zlib stream, given in pieces, inflates to; as inflatedLength, the memory grows with what comes. */
export function inflated(file: string, pieces: readonly Uint8Array[], limit: number): Uint8Array {
  let bytes = new Uint8Array(Math.min(limit, 1 << 20));
  let length = 0;
  inflatePieces(file, pieces, limit, (chunk) => {
    if (length + chunk.length > bytes.length) {
      const larger = new Uint8Array(Math.max(2 * bytes.length, length + chunk.length));
      larger.set(bytes.subarray(0, length));
      bytes = larger;
    }
    bytes.set(chunk, length);
    length += chunk.length;
    return length;
  });
  return bytes.subarray(0, length);
}

function inflatePieces(
  file: string,
  pieces: readonly Uint8Array[],
  limit: number,
  take: (chunk: Uint8Array) => number,
): void {
  let length = 0;
  const stream = new Unzlib((chunk) => {
    length = take(chunk);
  });
  for (const piece of pieces) {
    for (let start = 0; start < piece.length; start += chunkBytes) {
      stream.push(piece.subarray(start, start + chunkBytes), false);
      if (length > limit) throw beyondLimit(file, limit);
    }
  }
  stream.push(new Uint8Array(0), true);
}
