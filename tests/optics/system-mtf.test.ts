import { describe, expect, it } from 'vitest';
import { averagedSystemOtf, type SystemOtfPoint, systemMtf, systemOtf } from '../../src/optics/index.js';

const pitchUm = 3.45;
const point: SystemOtfPoint = {
  spatialFrequencyPerMm: 0.25 / 0.00345,
  workingFNumber: 4,
  wavelengthNm: 550,
  defocusWaves: 0.02 / (8 * 550e-6 * 16),
  pixelPitchUm: pitchUm,
  motionBlurUm: pitchUm,
};

describe('system MTF', () => {
  // Product of Hopkins’s integral (1955), sinc of the pixel and sinc of the motion, computed apart: 550 nm, N 4, 3.45 µm,
  // 20 µm out of focus, one pixel of motion.
  it.each([
    [0.125, 0.898617, 0.868439, 0.824705],
    [0.25, 0.797883, 0.711576, 0.576782],
    [0.5, 0.601027, 0.443001, 0.179542],
  ])('reference: worked combination at %d cycles per pixel', (perPx, diffraction, defocused, total) => {
    const at = { ...point, spatialFrequencyPerMm: perPx / 0.00345 };
    expect(systemMtf({ ...at, defocusWaves: 0, pixelPitchUm: 0, motionBlurUm: 0 })).toBeCloseTo(diffraction, 6);
    expect(systemMtf({ ...at, pixelPitchUm: 0, motionBlurUm: 0 })).toBeCloseTo(defocused, 6);
    expect(systemMtf(at)).toBeCloseTo(total, 6);
  });

  it('property: every stage changes the result', () => {
    const base = systemOtf(point);
    for (const change of [
      { pixelPitchUm: 2 },
      { motionBlurUm: 0 },
      { wavefrontErrorRmsWaves: 0.05 },
      { sphericalWaves: 0.2 },
      { defocusWaves: 0.5 },
      { wavelengthNm: 450 },
      { workingFNumber: 8 },
    ]) {
      expect(systemOtf({ ...point, ...change })).not.toBeCloseTo(base, 4);
    }
  });

  it('closed form: a sweep averages signed values, so that reversed contrast cancels', () => {
    const at = { ...point, pixelPitchUm: 0, motionBlurUm: 0, spatialFrequencyPerMm: 0.4 / (550e-6 * 4) };
    const positive = systemOtf({ ...at, defocusWaves: 0.6 });
    const negative = systemOtf({ ...at, defocusWaves: 0.9 });
    expect(negative).toBeLessThan(0);
    const average = averagedSystemOtf({ ...at, defocusWaves: [0.6, 0.9] });
    expect(average).toBeCloseTo((positive + negative) / 2, 14);
    const weighted = averagedSystemOtf({ ...at, defocusWaves: [0.6, 0.9], weights: [3, 1] });
    expect(weighted).toBeCloseTo((3 * positive + negative) / 4, 14);
  });

  it('degenerate: one defocus is the system OTF', () => {
    const { defocusWaves, ...rest } = point;
    expect(averagedSystemOtf({ ...rest, defocusWaves: [defocusWaves] })).toBe(systemOtf(point));
  });

  it('refuses empty sweeps and weights that do not fit', () => {
    expect(() => averagedSystemOtf({ ...point, defocusWaves: [] })).toThrow(/defocusWaves is empty/);
    expect(() => averagedSystemOtf({ ...point, defocusWaves: [1], weights: [1, 2] })).toThrow(
      /weights has 2 values; allowed: 1/,
    );
    expect(() => averagedSystemOtf({ ...point, defocusWaves: [1], weights: [0] })).toThrow(/weights sum to 0/);
    expect(() => systemOtf({ ...point, wavelengthNm: Number.NaN })).toThrow(/wavelengthNm is NaN/);
  });
});
