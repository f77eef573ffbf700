import { describe, expect, it } from 'vitest';
import { aberratedOtf, defocusOtf, diffractionMtf } from '../../src/optics/index.js';

const frequencies = [0.02, 0.1, 0.27, 0.5, 0.77, 0.96];

describe('aberrated OTF', () => {
  it('degenerate: without spherical aberration it is the defocus OTF, to 1e-12', () => {
    for (const defocusWaves of [0, 0.3, -1, 3, 12]) {
      for (const normalisedFrequency of frequencies) {
        const exact = defocusOtf({ normalisedFrequency, defocusWaves });
        const found = aberratedOtf({ normalisedFrequency, defocusWaves, sphericalWaves: 0 });
        expect(Math.abs(found - exact)).toBeLessThan(1e-12);
      }
    }
  });

  it('closed form: small aberration loses by its variance; W20 = −W040 is the best focus', () => {
    const volume = (defocusWaves: number) => {
      let sum = 0;
      for (let i = 0; i < 400; i++) {
        const normalisedFrequency = (i + 0.5) / 400;
        sum += normalisedFrequency * aberratedOtf({ normalisedFrequency, defocusWaves, sphericalWaves: 0.3 });
      }
      return sum;
    };
    let perfect = 0;
    for (let i = 0; i < 400; i++) perfect += ((i + 0.5) / 400) * diffractionMtf((i + 0.5) / 400);
    // rms of balanced primary spherical aberration: W040/√180 (Maréchal's balance; from memory, integrated again).
    const rms = 0.3 / Math.sqrt(180);
    expect(volume(-0.3) / perfect).toBeCloseTo(Math.exp(-((2 * Math.PI * rms) ** 2)), 3);
    expect(volume(-0.3)).toBeGreaterThan(volume(-0.35));
    expect(volume(-0.3)).toBeGreaterThan(volume(-0.25));
  });

  it('property: changing the sign of both aberrations changes nothing; of one it does', () => {
    const at = (defocusWaves: number, sphericalWaves: number) =>
      aberratedOtf({ normalisedFrequency: 0.3, defocusWaves, sphericalWaves });
    expect(at(0.6, -0.4)).toBeCloseTo(at(-0.6, 0.4), 14);
    expect(Math.abs(at(0.6, 0.4) - at(0.6, -0.4))).toBeGreaterThan(0.1);
  });

  it('degenerate: 1 at zero frequency, 0 at the cutoff', () => {
    expect(aberratedOtf({ normalisedFrequency: 0, defocusWaves: 2, sphericalWaves: 1 })).toBe(1);
    expect(aberratedOtf({ normalisedFrequency: 1, defocusWaves: 2, sphericalWaves: 1 })).toBe(0);
  });

  it('refuses aberration too great to integrate, and NaN', () => {
    const at = (sphericalWaves: number) => aberratedOtf({ normalisedFrequency: 0.5, defocusWaves: 0, sphericalWaves });
    expect(() => at(1000)).toThrow(/rad of phase; allowed: ≤/);
    expect(() => at(Number.NaN)).toThrow(/sphericalWaves is NaN/);
  });
});
