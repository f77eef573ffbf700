import { describe, expect, it } from 'vitest';
import { combinedWavefrontErrorRmsWaves, wavefrontErrorMtf } from '../../src/optics/index.js';

const at = (normalisedFrequency: number, wavefrontErrorRmsWaves: number) =>
  wavefrontErrorMtf({ normalisedFrequency, wavefrontErrorRmsWaves });

// The approximation itself is from memory (Shannon 1997): these checks hold the code to the formula, not to nature.
describe('wavefront error', () => {
  it('closed form: 0.09 waves rms at half the cutoff → 0.75; at the ends of the band no loss', () => {
    expect(at(0.5, 0.09)).toBeCloseTo(0.75, 12);
    expect(at(0, 0.09)).toBe(1);
    expect(at(1, 0.09)).toBe(1);
  });

  it('degenerate: no error, no loss; a large one stops at 0', () => {
    expect(at(0.3, 0)).toBe(1);
    expect(at(0.5, 0.5)).toBe(0);
  });

  it('closed form: independent errors add by squares', () => {
    expect(combinedWavefrontErrorRmsWaves([0.03, 0.04])).toBeCloseTo(0.05, 12);
    expect(combinedWavefrontErrorRmsWaves([])).toBe(0);
  });

  it('refuses negative errors', () => {
    expect(() => at(0.5, -0.1)).toThrow(/wavefrontErrorRmsWaves is -0.1/);
    expect(() => combinedWavefrontErrorRmsWaves([0.1, Number.NaN])).toThrow(/NaN/);
  });
});
