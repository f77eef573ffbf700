import { Unzlib } from 'fflate';
import { unreadable } from './unreadable.js';

const chunkBytes = 1 << 14;

/**
 * Bytes that a zlib stream, given in pieces, inflates to; stops with image-unreadable as soon as they exceed `limit`, so
 * that a small file cannot fill the memory. Nothing is kept.
 */
export function inflatedLength(file: string, pieces: readonly Uint8Array[], limit: number): number {
  let length = 0;
  const stream = new Unzlib((chunk) => {
    length += chunk.length;
  });
  for (const piece of pieces) {
    for (let start = 0; start < piece.length; start += chunkBytes) {
      stream.push(piece.subarray(start, start + chunkBytes), false);
      if (length > limit) throw unreadable(file, `compressed data of more than the ${limit} bytes its size allows`);
    }
  }
  stream.push(new Uint8Array(0), true);
  return length;
}
