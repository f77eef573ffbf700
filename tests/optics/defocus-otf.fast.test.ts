import { describe, expect, it } from 'vitest';
import { defocusOtf, defocusOtfRadial } from '../../src/optics/index.js';

describe('radial table of the defocus OTF', () => {
  it.each([0, 0.3, 1, 3, 10, 30, 60])('reference: within 1e-6 of the exact function at %d waves', (defocusWaves) => {
    const fast = defocusOtfRadial(defocusWaves);
    let worst = 0;
    for (let i = 0; i <= 3000; i++) {
      const s = (i / 3000) ** 2;
      worst = Math.max(worst, Math.abs(fast(s) - defocusOtf({ normalisedFrequency: s, defocusWaves })));
    }
    expect(worst).toBeLessThan(1e-6);
  });

  it('degenerate: 0 at and beyond the cutoff, 1 at zero frequency', () => {
    expect(defocusOtfRadial(2)(1)).toBe(0);
    expect(defocusOtfRadial(2)(3)).toBe(0);
    expect(defocusOtfRadial(-2)(0)).toBeCloseTo(1, 9);
  });

  it('refuses a defocus that is not finite', () => {
    expect(() => defocusOtfRadial(Number.NaN)).toThrow(/defocusWaves is NaN/);
  });
});
