import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import type { GreyImage } from '../../../src/image/index.js';
import { bandEnergiesFast } from '../../../src/image/stack/band-energies.fast.js';
import { bandEnergies } from '../../../src/image/stack/band-energies.js';
import { bandNoise } from '../../../src/image/stack/band-noise.js';

function noisy(widthPx: number, heightPx: number, bitDepth: 8 | 12, seed: number): GreyImage {
  const random = seededRandom(seed);
  const top = 2 ** bitDepth - 1;
  const values = { length: widthPx * heightPx };
  const value = () => Math.round(top * (0.2 + 0.6 * random.uniform()));
  const data = bitDepth === 8 ? Uint8Array.from(values, value) : Uint16Array.from(values, value);
  return { widthPx, heightPx, bitDepth, data };
}

describe.each([
  ['8 bit, whole blocks', 64, 48, 8, 8],
  ['12 bit, columns and rows left over', 83, 61, 12, 8],
  ['8 bit, wide blocks, odd count of blocks', 121, 99, 8, 16],
  ['8 bit, columns and rows left over', 83, 61, 8, 8],
  ['8 bit, the widest blocks', 400, 390, 8, 64],
] as const)('bands of a frame: %s', (_, widthPx, heightPx, bitDepth, blockPx) => {
  it('property: the compiled kernel gives what the readable version gives', () => {
    const fastEnergies = bandEnergiesFast({ widthPx, heightPx, blockPx });
    for (const seed of [1, 2]) {
      const image = noisy(widthPx, heightPx, bitDepth, seed);
      const [fast, plain] = [fastEnergies(image), bandEnergies({ image, blockPx })];
      expect([fast.columns, fast.rows]).toEqual([plain.columns, plain.rows]);
      const near = (a: Float32Array, b: Float32Array) => {
        for (const [i, value] of a.entries()) {
          expect(Math.abs(value - b[i]!)).toBeLessThanOrEqual(1e-4 * Math.abs(b[i]!) + 1e-6);
        }
      };
      for (const [band, map] of fast.energies.entries()) near(map, plain.energies[band]!);
      near(fast.meansDn, plain.meansDn);
      expect(fast.topsDn).toEqual(plain.topsDn);
    }
  });
});

describe('bands of frames at the ends of the grey range', () => {
  it.each([8, 12] as const)(
    'property: kernel and readable version agree on a chequer of 0 and the top, %i bit',
    (bitDepth) => {
      const [widthPx, heightPx, top] = [96, 64, 2 ** bitDepth - 1];
      const grey = Array.from(
        { length: widthPx * heightPx },
        (_, i) => ((((i % widthPx) >> 2) + ((i / widthPx) >> 2)) % 2) * top,
      );
      const data = bitDepth === 8 ? Uint8Array.from(grey) : Uint16Array.from(grey);
      const image = { widthPx, heightPx, bitDepth, data };
      const fast = bandEnergiesFast({ widthPx, heightPx, blockPx: 8 })(image);
      bandEnergies({ image, blockPx: 8 }).energies.forEach((map, band) => {
        map.forEach((value, b) => {
          expect(Math.abs(fast.energies[band]![b]! - value)).toBeLessThanOrEqual(1e-4 * value + 1e-6);
        });
      });
    },
  );

  it('refuses a frame of another size', () => {
    const energies = bandEnergiesFast({ widthPx: 64, heightPx: 48, blockPx: 8 });
    expect(() => energies(noisy(48, 64, 8, 1))).toThrow('48 × 64 px; allowed: 64 × 48 px');
  });
});

describe('noise of the bands', () => {
  it('closed form: the first band has Σ h² = 0.40625', () => {
    expect(bandNoise()[0]!.gain).toBeCloseTo(0.40625, 10);
  });

  it('property: white noise of known variance shows the stated energies and spread', () => {
    const image = noisy(512, 512, 12, 3);
    const variance = (0.6 * 4095) ** 2 / 12;
    const { energies, columns, rows } = bandEnergies({ image, blockPx: 64 });
    bandNoise().forEach(({ gain, independentPerPx2 }, band) => {
      const inner = [...energies[band]!].filter(
        (_, b) => b % columns > 0 && b % columns < columns - 1 && b > columns && b < columns * (rows - 1),
      );
      const mean = inner.reduce((a, b) => a + b) / inner.length;
      const relative = Math.sqrt(2 / (64 * 64 * independentPerPx2));
      expect(Math.abs(mean / variance / gain - 1)).toBeLessThan((4 * relative) / Math.sqrt(inner.length));
      const spread = Math.sqrt(inner.reduce((sum, v) => sum + (v / mean - 1) ** 2, 0) / (inner.length - 1));
      expect(spread / relative).toBeGreaterThan(0.65);
      expect(spread / relative).toBeLessThan(1.4);
    });
  });
});
