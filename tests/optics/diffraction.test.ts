import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  airyRadiusUm,
  diffractionCutoffPerMm,
  diffractionMtf,
  diffractionMtfInverse,
  normalisedFrequency,
  squareWaveContrast,
} from '../../src/optics/index.js';

describe('diffraction', () => {
  // Computed from the textbook formula.
  it.each([
    [0.1, 0.87289],
    [0.2, 0.74706],
    [0.25, 0.68504],
    [0.3, 0.62384],
    [0.4, 0.50463],
    [0.5, 0.391],
    [0.6, 0.28476],
    [0.7, 0.18812],
    [0.75, 0.14429],
    [0.8, 0.10409],
    [0.9, 0.03739],
  ])('reference: MTF at s = %d', (s, mtf) => {
    expect(diffractionMtf(s)).toBeCloseTo(mtf, 5);
  });

  it.each([
    [0.5, 0.403973],
    [0.3, 0.585137],
    [0.2, 0.687049],
    [0.1, 0.805384],
  ])('reference: MTF = %d (computed)', (contrast, s) => {
    expect(diffractionMtfInverse(contrast)).toBeCloseTo(s, 6);
  });

  it('property: the inverse gives the frequency back', () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 0.999, noNaN: true }), (s) => {
        expect(diffractionMtfInverse(diffractionMtf(s))).toBeCloseTo(s, 9);
      }),
    );
  });

  // Formula from memory (Coltman), values computed.
  it.each([
    [0.1, 0.91727],
    [0.2, 0.83033],
    [0.25, 0.81098],
    [0.3, 0.77843],
    [0.4, 0.64252],
    [0.5, 0.49784],
    [0.6, 0.36256],
    [0.75, 0.18372],
  ])('reference: square-wave contrast at s = %d', (frequency, ctf) => {
    expect(squareWaveContrast({ mtf: diffractionMtf, frequency, cutoff: 1 })).toBeCloseTo(ctf, 5);
  });

  // 550 nm, computed.
  it.each([
    [2.8, 1.8783, 649.35],
    [4, 2.6833, 454.55],
    [5.6, 3.7566, 324.68],
    [8, 5.3665, 227.27],
    [16, 10.7331, 113.64],
  ])('reference: Airy radius and cutoff at N %d', (workingFNumber, radiusUm, cutoff) => {
    expect(airyRadiusUm({ wavelengthNm: 550, workingFNumber })).toBeCloseTo(radiusUm, 4);
    expect(diffractionCutoffPerMm({ wavelengthNm: 550, workingFNumber })).toBeCloseTo(cutoff, 2);
    expect(normalisedFrequency({ wavelengthNm: 550, workingFNumber, spatialFrequencyPerMm: cutoff })).toBeCloseTo(1, 4);
  });

  it('reference: OpenStax m58548, pupil 6.5 mm, 28 mm behind, 550 nm → 2.9 µm', () => {
    expect(airyRadiusUm({ wavelengthNm: 550, workingFNumber: 28 / 6.5 })).toBeCloseTo(2.89, 2);
  });

  it('degenerate: ends of the MTF and its inverse', () => {
    expect(diffractionMtf(0)).toBe(1);
    expect(diffractionMtf(1)).toBe(0);
    expect(diffractionMtf(5)).toBe(0);
    expect(diffractionMtfInverse(1)).toBe(0);
    expect(diffractionMtfInverse(0)).toBe(1);
    expect(squareWaveContrast({ mtf: diffractionMtf, frequency: 2, cutoff: 1 })).toBe(0);
  });

  it('refuses negative frequencies, contrast above 1 and apertures that are none', () => {
    expect(() => diffractionMtf(-1)).toThrow(/normalisedFrequency is -1/);
    expect(() => diffractionMtfInverse(1.1)).toThrow(/contrast is 1.1/);
    expect(() => airyRadiusUm({ wavelengthNm: 550, workingFNumber: 0 })).toThrow(/workingFNumber/);
    expect(() => squareWaveContrast({ mtf: diffractionMtf, frequency: 0, cutoff: 1 })).toThrow(/frequency is 0/);
  });
});
