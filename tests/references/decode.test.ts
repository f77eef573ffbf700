import { describe, expect, it } from 'vitest';
import { decodeImage } from '../../src/image/formats/index.js';
import { readBytes, readPixels, readRows } from './folder.js';

const firstDifference = (a: ArrayLike<number>, b: ArrayLike<number>) =>
  a.length === b.length ? Array.from(a).findIndex((value, i) => value !== b[i]) : Math.min(a.length, b.length);

describe.each([
  { folder: 'recorded-frames', bitDepth: 8 },
  { folder: 'focus-run', bitDepth: 12 },
])('$folder', ({ folder, bitDepth }) => {
  it('reference: our reader gives the depth and the grey values that general-purpose libraries give', () => {
    for (const { file } of readRows(folder)) {
      const ours = decodeImage(readBytes(`${folder}/${file}`), file);
      const theirs = readPixels(`${folder}/${file}`);
      expect([ours.widthPx, ours.heightPx, ours.bitDepth]).toEqual([theirs.widthPx, theirs.heightPx, bitDepth]);
      expect(firstDifference(ours.data, theirs.values), file).toBe(-1);
    }
  });
});
