import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { diffractionMtf, gaussianSpectrum } from '../../src/optics/index.js';

const white = { wavelengthNm: 525, bandwidthNm: 120 };

describe('gaussian spectrum', () => {
  it('closed form: mean at the centre, variance of the Gaussian less the cut tails', () => {
    const sigmaNm = 120 / 2.3548;
    // Variance of a Gaussian cut at ± 2.5 σ: 1 − 2·2.5·φ(2.5)/(2Φ(2.5) − 1) = 0.9113 of the whole, at many points.
    for (const [count, share, tolerance] of [
      [41, 0.9113, 0.015],
      [5, 0.988, 0.001],
    ] as const) {
      const lines = gaussianSpectrum({ ...white, count });
      expect(lines).toHaveLength(count);
      const mean = lines.reduce((sum, line) => sum + line.weight * line.wavelengthNm, 0);
      const variance = lines.reduce((sum, line) => sum + line.weight * (line.wavelengthNm - 525) ** 2, 0);
      expect(mean).toBeCloseTo(525, 9);
      expect(Math.abs(variance / sigmaNm ** 2 - share)).toBeLessThan(tolerance);
    }
  });

  it('degenerate: no width, or one line, is the centre alone', () => {
    const centre = [{ wavelengthNm: 525, weight: 1 }];
    expect(gaussianSpectrum({ ...white, bandwidthNm: 0, count: 9 })).toEqual(centre);
    expect(gaussianSpectrum({ ...white, count: 1 })).toEqual(centre);
  });

  it('property: weights sum to 1, wavelengths stay positive and symmetrical however wide the light', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 200, max: 2000, noNaN: true }),
        fc.double({ min: 0.01, max: 800, noNaN: true }),
        fc.integer({ min: 1, max: 20 }),
        (wavelengthNm, bandwidthNm, half) => {
          const lines = gaussianSpectrum({ wavelengthNm, bandwidthNm, count: 2 * half + 1 });
          expect(lines.reduce((sum, line) => sum + line.weight, 0)).toBeCloseTo(1, 12);
          lines.forEach((line, i) => {
            const mirror = lines[lines.length - 1 - i]!;
            expect(line.wavelengthNm).toBeGreaterThan(0.49 * wavelengthNm);
            expect(line.weight).toBeCloseTo(mirror.weight, 12);
            expect(line.wavelengthNm + mirror.wavelengthNm).toBeCloseTo(2 * wavelengthNm, 6);
          });
        },
      ),
    );
  });

  it('property: width alone, without axial colour, changes the diffraction little and never lowers it by much', () => {
    for (const [bandwidthNm, most] of [
      [120, 0.015],
      [300, 0.053],
    ] as const) {
      const lines = gaussianSpectrum({ wavelengthNm: 550, bandwidthNm, count: 21 });
      for (let s = 0.02; s < 1; s += 0.02) {
        const wide = lines.reduce((sum, line) => sum + line.weight * diffractionMtf((s * line.wavelengthNm) / 550), 0);
        expect(wide - diffractionMtf(s)).toBeLessThan(most);
        expect(wide - diffractionMtf(s)).toBeGreaterThan(-0.005);
      }
    }
  });

  it.each([
    [{ bandwidthNm: -1 }, /bandwidthNm is -1 nm/],
    [{ wavelengthNm: 0 }, /wavelengthNm is 0 nm/],
    [{ count: 4 }, /count is 4; allowed: an odd number/],
    [{ count: 43 }, /count is 43/],
  ])('refuses: %o', (change, message) => {
    expect(() => gaussianSpectrum({ ...white, count: 5, ...change })).toThrow(message);
  });
});
