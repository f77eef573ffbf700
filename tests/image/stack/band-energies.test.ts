import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import type { GreyImage } from '../../../src/image/index.js';
import { bandEnergies } from '../../../src/image/stack/band-energies.js';
import { bandNoise } from '../../../src/image/stack/band-noise.js';
import { stackFrames } from '../../../src/image/stack/stack-frames.fast.js';

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
] as const)('bands of a frame: %s', (_, widthPx, heightPx, bitDepth, blockPx) => {
  it('property: the compiled kernel gives what the readable version gives', () => {
    const worker = stackFrames({ widthPx, heightPx, blockPx });
    for (const seed of [1, 2]) {
      const image = noisy(widthPx, heightPx, bitDepth, seed);
      const [fast, plain] = [worker.bandEnergies(image), bandEnergies({ image, blockPx })];
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
