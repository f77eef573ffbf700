import { describe, expect, it } from 'vitest';
import { defocusRmsWaves, defocusStrehl, marechalStrehl, strehlFromRms } from '../../src/optics/index.js';

describe('Strehl ratio', () => {
  // Forms from memory (Mahajan 1982), values computed.
  it.each([
    [0.1, 0.02887, 0.96753, 0.96764, 0.96737],
    [0.2, 0.05774, 0.87514, 0.8767, 0.87273],
    [0.25, 0.07217, 0.81057, 0.81415, 0.80495],
    [0.3, 0.0866, 0.73684, 0.74372, 0.72583],
    [0.5, 0.14434, 0.40528, 0.43935, 0.34665],
    [1, 0.28868, 0, 0.03726, null],
  ])('reference: defocus of %d waves', (waves, rms, exact, exponential, marechal) => {
    expect(defocusRmsWaves(waves)).toBeCloseTo(rms, 5);
    expect(defocusStrehl(waves)).toBeCloseTo(exact, 5);
    expect(strehlFromRms(defocusRmsWaves(waves))).toBeCloseTo(exponential, 5);
    const found = marechalStrehl(defocusRmsWaves(waves));
    if (marechal === null) expect(found).toBeNull();
    else expect(found).toBeCloseTo(marechal, 5);
  });

  it.each([
    [1 / 14, 0.81757, 0.80872],
    [1 / 20, 0.90602, 0.90374],
  ])('reference: rms of %d waves', (rms, exponential, marechal) => {
    expect(strehlFromRms(rms)).toBeCloseTo(exponential, 5);
    expect(marechalStrehl(rms)).toBeCloseTo(marechal, 5);
  });

  it('degenerate: no error is perfect', () => {
    expect(defocusStrehl(0)).toBe(1);
    expect(strehlFromRms(0)).toBe(1);
    expect(marechalStrehl(0)).toBe(1);
  });

  it('refuses negative rms and NaN', () => {
    expect(() => strehlFromRms(-0.1)).toThrow(/wavefrontErrorRmsWaves is -0.1/);
    expect(() => defocusStrehl(Number.NaN)).toThrow(/defocusWaves is NaN/);
  });
});
