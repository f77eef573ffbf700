import { describe, expect, it } from 'vitest';
import { motionBlurUm, motionMtf } from '../../src/optics/index.js';

describe('motion blur', () => {
  it('reference: 500 mm/s for 50 µs at |m| 0.2 smears 5.0 µm = 1.449 px (computed)', () => {
    const blurUm = motionBlurUm({ speedMmPerS: 500, exposureUs: 50, magnification: -0.2 });
    expect(blurUm).toBeCloseTo(5, 12);
    expect(blurUm / 3.45).toBeCloseTo(1.449, 3);
  });

  // sinc of a blur of one pixel of 3.45 µm, computed apart: 0.974495 = sin(π/8)/(π/8).
  it.each([
    [0.125, 0.974495],
    [0.25, 0.900316],
    [0.5, 0.63662],
  ])('reference: MTF of one pixel of motion at %d cycles per pixel', (perPx, mtf) => {
    expect(motionMtf({ spatialFrequencyPerMm: perPx / 0.00345, motionBlurUm: 3.45 })).toBeCloseTo(mtf, 6);
  });

  it('degenerate: no frequency, no loss; a long smear reverses contrast', () => {
    expect(motionMtf({ spatialFrequencyPerMm: 0, motionBlurUm: 5 })).toBe(1);
    expect(motionMtf({ spatialFrequencyPerMm: 300, motionBlurUm: 5 })).toBeLessThan(0);
  });

  it('refuses negative speeds and smears that are not finite', () => {
    expect(() => motionMtf({ spatialFrequencyPerMm: 1, motionBlurUm: Number.NaN })).toThrow(/motionBlurUm is NaN/);
    expect(() => motionBlurUm({ speedMmPerS: -1, exposureUs: 1, magnification: 1 })).toThrow(/speedMmPerS/);
  });
});
