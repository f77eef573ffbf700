import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { focusKernel } from '../../src/image/focus-measures/focus-kernel.js';
import { focusSumsFast } from '../../src/image/focus-measures/focus-sums.fast.js';
import { dctRatioUnit, type FocusSum, focusSums, focusSumTerms } from '../../src/image/focus-measures/focus-sums.js';
import type { GreyImage } from '../../src/image/index.js';

const names = Object.keys(focusSumTerms) as FocusSum[];

/** Noise over all grey values, or smooth with a few jumps: both ways through the kernels. */
function picture({
  widthPx,
  heightPx,
  bitDepth,
  smooth,
  seed,
}: {
  widthPx: number;
  heightPx: number;
  bitDepth: number;
  smooth: boolean;
  seed: number;
}): GreyImage {
  const random = seededRandom(seed);
  const top = 2 ** bitDepth;
  const values = Array.from({ length: widthPx * heightPx }, (_, i) => {
    if (!smooth) return Math.floor(top * random.uniform());
    const [x, y] = [i % widthPx, Math.floor(i / widthPx)];
    const wave = 0.45 + 0.05 * Math.sin(x / 5 + y / 9) + (x > 70 && y < 40 ? 0.4 : 0);
    return Math.floor(top * (wave + 0.01 * random.uniform()));
  });
  return { widthPx, heightPx, bitDepth, data: bitDepth === 8 ? Uint8Array.from(values) : Uint16Array.from(values) };
}

const versions = [
  ['readable', focusSums],
  ['fast', focusSumsFast],
] as const;

describe.each(versions)('focus sums, %s version', (_, sums) => {
  it('reference: the 8 × 8 check image (3x² + 5y + 7xy) mod 32, computed with numpy', () => {
    const data = Uint8Array.from({ length: 64 }, (_, i) => {
      const [x, y] = [i % 8, Math.floor(i / 8)];
      return (3 * x * x + 5 * y + 7 * x * y) % 32;
    });
    const whole = { xPx: 0, yPx: 0, widthPx: 8, heightPx: 8 };
    for (const image of [
      { widthPx: 8, heightPx: 8, bitDepth: 8, data },
      { widthPx: 8, heightPx: 8, bitDepth: 12, data: Uint16Array.from(data) },
    ]) {
      const of = (...wanted: FocusSum[]) => sums(image, whole, wanted);
      expect(of('sobel-squares', 'forward-squares', 'laplacian-squares')).toEqual([59392n, 15520n, 72592n]);
      expect(of('two-apart-x-squares', 'two-apart-y-squares', 'second-differences')).toEqual([5600n, 7584n, 1308n]);
      expect(of('values', 'value-squares')).toEqual([1072n, 22608n]);
      expect(of('haar-details')).toEqual([4n * 3340n]);
      expect(Number(of('dct-ratios')[0]) * dctRatioUnit).toBeCloseTo(0.259078, 6);
    }
  });

  it('closed form: the largest grey values of 16 bit, over a whole megapixel, stay exact', () => {
    const [widthPx, heightPx] = [1024, 1024];
    const data = Uint16Array.from({ length: widthPx * heightPx }, (_, i) => (((i % 1024) >> 1) % 2 === 0 ? 65535 : 0));
    const image = { widthPx, heightPx, bitDepth: 16, data };
    const whole = { xPx: 0, yPx: 0, widthPx, heightPx };
    const square = 65535n ** 2n;
    // Stripes two pixels wide: each pixel differs from the one two on, and has one unlike neighbour.
    expect(
      sums(image, whole, ['two-apart-x-squares', 'two-apart-y-squares', 'laplacian-squares', 'sobel-squares']),
    ).toEqual([1022n * 1024n * square, 0n, 1022n * 1022n * square, 1022n * 1022n * 16n * square]);
    expect(sums(image, whole, ['values', 'value-squares'])).toEqual([512n * 1024n * 65535n, 512n * 1024n * square]);
  });
});

describe('fast focus sums', () => {
  it('property: the kernels are there in this runtime', () => {
    expect(focusKernel()).not.toBeNull();
  });

  it('property: equal to the readable version for any size, region, bit depth and contrast', () => {
    fc.assert(
      fc.property(
        fc.record({
          widthPx: fc.integer({ min: 3, max: 150 }),
          heightPx: fc.integer({ min: 3, max: 80 }),
          bitDepth: fc.integer({ min: 8, max: 16 }),
          smooth: fc.boolean(),
          seed: fc.nat(),
          cut: fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.double({ min: 0, max: 1, noNaN: true })),
        }),
        ({ cut, ...size }) => {
          const image = picture(size);
          const xPx = Math.floor(cut[0] * (size.widthPx - 3));
          const yPx = Math.floor(cut[1] * (size.heightPx - 3));
          const region = {
            xPx,
            yPx,
            widthPx: size.widthPx - xPx - Math.min(2, size.widthPx - xPx - 3),
            heightPx: size.heightPx - yPx,
          };
          expect(focusSumsFast(image, region, names)).toEqual(focusSums(image, region, names));
        },
      ),
      { numRuns: 150 },
    );
  });

  it('property: equal where filtered 16-bit values come near what 16-bit arithmetic holds, and beyond', () => {
    for (let seed = 0; seed < 24; seed++) {
      const random = seededRandom(seed);
      const [widthPx, heightPx] = [96, 72];
      // A steep ramp, so that grey values are far apart, with noise of 3000 to 10 000 DN and a few jumps.
      const noiseDn = 3000 + 300 * seed;
      const data = Uint16Array.from({ length: widthPx * heightPx }, (_, i) => {
        const ramp = 500 * (i % widthPx) + (random.uniform() < 0.001 ? 30_000 * random.uniform() : 0);
        return Math.min(65535, ramp + noiseDn * random.uniform());
      });
      const image = { widthPx, heightPx, bitDepth: 16, data };
      const whole = { xPx: 0, yPx: 0, widthPx, heightPx };
      expect(focusSumsFast(image, whole, names)).toEqual(focusSums(image, whole, names));
    }
  });

  it.each([
    [1024, 300, 8],
    [512, 700, 16],
    [641, 500, 12],
    [70_000, 9, 16],
    [30_000, 9, 8],
  ])('property: equal over strips, %i × %i px of %i bit', (widthPx, heightPx, bitDepth) => {
    for (const smooth of [true, false]) {
      const image = picture({ widthPx, heightPx, bitDepth, smooth, seed: 5 });
      const whole = { xPx: 0, yPx: 0, widthPx, heightPx };
      expect(focusSumsFast(image, whole, names)).toEqual(focusSums(image, whole, names));
    }
  });
});
