import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { regionTransform } from '../../../src/image/defocus/region-transform.js';

const random = seededRandom(11);

describe('transform of a region', () => {
  it('closed form: equals the direct sum, on sides of different length', () => {
    const [widthPx, heightPx] = [32, 16];
    const pixels = Float64Array.from({ length: widthPx * heightPx }, () => random.normal());
    const { re, im } = regionTransform({ widthPx, heightPx }).transform(pixels);
    for (const [u, v] of [
      [0, 0],
      [1, 0],
      [5, 3],
      [16, 7],
      [16, 8],
      [9, 15],
    ] as const) {
      let [x, y] = [0, 0];
      pixels.forEach((value, i) => {
        const angle = -2 * Math.PI * ((u * (i % widthPx)) / widthPx + (v * Math.floor(i / widthPx)) / heightPx);
        x += value * Math.cos(angle);
        y += value * Math.sin(angle);
      });
      expect(re[u * heightPx + v]).toBeCloseTo(x, 9);
      expect(im[u * heightPx + v]).toBeCloseTo(y, 9);
    }
  });

  it('property: keeps the energy (Parseval)', () => {
    const sidePx = 64;
    const pixels = Float64Array.from({ length: sidePx ** 2 }, () => random.normal());
    const { re, im } = regionTransform({ widthPx: sidePx, heightPx: sidePx }).transform(pixels);
    let energy = 0;
    re.forEach((value, i) => {
      const column = Math.floor(i / sidePx);
      energy += (column === 0 || column === sidePx / 2 ? 1 : 2) * (value ** 2 + im[i]! ** 2);
    });
    expect(energy / sidePx ** 2).toBeCloseTo(
      pixels.reduce((sum, v) => sum + v * v, 0),
      6,
    );
  });

  it('refuses sides that are no power of two, or too small', () => {
    expect(() => regionTransform({ widthPx: 48, heightPx: 64 })).toThrow('widthPx is 48 px; allowed: a power of two');
    expect(() => regionTransform({ widthPx: 64, heightPx: 8 })).toThrow('heightPx');
  });
});
