import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { decodeImagePages } from '../../src/image/index.js';

const folder = fileURLToPath(new URL('../../references/tiff', import.meta.url));
const files = readdirSync(folder).filter((name) => name.endsWith('.tif'));
const widthPx = 37;
const heightPx = 29;

/** What the tool says no to, and why. */
const refusals: [RegExp, RegExp][] = [
  [/packbits/, /compression 32773/],
  [/bigtiff/, /BigTIFF/],
  [/lsb-first/, /FillOrder 2/],
  [/tile-.*predictor/, /tiles with a predictor/],
];
const refusalOf = (name: string) => refusals.find(([kind]) => kind.test(name))?.[1];

/** The formula that references/tiff/make_tiff.py wrote into every file. */
function expectedPixels(name: string): number[] {
  return Array.from({ length: widthPx * heightPx }, (_, at) => {
    const x = at % widthPx;
    const y = Math.floor(at / widthPx);
    return name.startsWith('grey8') ? (3 * x + 5 * y) % 256 : (977 * x + 1543 * y + ((x * y) % 61)) % 65536;
  });
}

describe('TIFF variants written by libtiff 4.5.0', () => {
  it.each(files.filter((name) => !refusalOf(name)))('reference: %s is read pixel by pixel', (name) => {
    const pages = decodeImagePages(readFileSync(`${folder}/${name}`), name);
    expect(pages).toHaveLength(name.includes('three-pages') ? 3 : 1);
    for (const { data, ...size } of pages) {
      expect(size).toMatchObject({ widthPx, heightPx, bitDepth: name.startsWith('grey8') ? 8 : 16 });
      expect(Array.from(data)).toEqual(expectedPixels(name));
    }
  });

  it.each(files.filter(refusalOf))('refuses %s, saying what was met', (name) => {
    let met = '';
    try {
      decodeImagePages(readFileSync(`${folder}/${name}`), name);
    } catch (error) {
      met = JSON.stringify((error as { details?: unknown }).details);
    }
    expect(met).toMatch(refusalOf(name)!);
  });

  it('property: reading leaves the file bytes as they were', () => {
    const bytes = readFileSync(`${folder}/grey8-strip-none-little.tif`);
    const before = Buffer.from(bytes);
    decodeImagePages(bytes, 'a.tif');
    expect(bytes.equals(before)).toBe(true);
  });
});
