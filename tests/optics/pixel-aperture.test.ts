import { describe, expect, it } from 'vitest';
import { nyquistFrequencyPerMm, pixelMtf, uniformBlurMtf } from '../../src/optics/index.js';

describe('pixel aperture', () => {
  // Form published: SPIE Tutorial Text TT121, ch. 6; values computed.
  it.each([
    [0.1, 0.98363],
    [0.25, 0.90032],
    [0.5, 0.63662],
    [0.75, 0.30011],
    [1, 0],
  ])('reference: pixel MTF at %d cycles per pixel', (perPx, mtf) => {
    expect(pixelMtf({ spatialFrequencyPerMm: perPx / 0.00345, pixelPitchUm: 3.45 })).toBeCloseTo(mtf, 5);
  });

  it('reference: Nyquist frequency of 3.45 µm is 144.93 lp/mm (computed)', () => {
    expect(nyquistFrequencyPerMm({ pixelPitchUm: 3.45 })).toBeCloseTo(144.93, 2);
  });

  it('degenerate: no width, no loss; beyond its zero the contrast is reversed', () => {
    expect(uniformBlurMtf({ spatialFrequencyPerMm: 100, widthUm: 0 })).toBe(1);
    expect(uniformBlurMtf({ spatialFrequencyPerMm: 300, widthUm: 5 })).toBeLessThan(0);
  });

  it('refuses negative widths and no pitch', () => {
    expect(() => pixelMtf({ spatialFrequencyPerMm: 1, pixelPitchUm: -1 })).toThrow(/pixelPitchUm is -1/);
    expect(() => pixelMtf({ spatialFrequencyPerMm: Number.NaN, pixelPitchUm: 1 })).toThrow(
      /spatialFrequencyPerMm is NaN/,
    );
    expect(() => nyquistFrequencyPerMm({ pixelPitchUm: 0 })).toThrow(/pixelPitchUm is 0/);
  });
});
