import { describe, expect, it } from 'vitest';
import { type FieldPupil, fieldMtf, fieldPupil, layoutSpectrum, systemMtf } from '../../src/optics/index.js';
import { threeLayouts, tunablePair } from './layouts.js';

const stages = { wavelengthNm: 525, pixelPitchUm: 3.45, motionBlurUm: 1, wavefrontErrorRmsWaves: 0.04 };
const at = { spatialFrequencyPerMm: 70, defocusWaves: 0.2, ...stages };
const straight: FieldPupil = { chiefSlope: 0, workingFNumber: 4, otherStop: null };

describe('MTF in the field', () => {
  it.each(threeLayouts)('degenerate: on the axis equals systemMtf in both directions, %s', (_, model) => {
    const pupil = fieldPupil({ model, focalPowerDpt: 1, imageHeightMm: 0 });
    const light = { model, focalPowerDpt: 1, wavelengthNm: 525, bandwidthNm: 100 };
    const spectrum = layoutSpectrum({ ...light, abbeNumber: 30, axialColourUm: 20 });
    for (const lines of ['tangential', 'sagittal'] as const) {
      const found = fieldMtf({ pupil, lines, ...at, spectrum, comaRmsWaves: 0.05 });
      const { workingFNumber } = pupil;
      expect(found).toBeCloseTo(systemMtf({ workingFNumber, ...at, spectrum, comaRmsWaves: 0.05 }), 9);
    }
  });

  it('closed form: without a cut the f-number grows by 1/cos³ across the radius and 1/cos along it', () => {
    const pupil = { ...straight, chiefSlope: 0.4 };
    const cosine = Math.cos(Math.atan(0.4));
    const focused = { ...at, defocusWaves: 0 };
    const tangential = systemMtf({ ...focused, workingFNumber: 4 / cosine ** 3 });
    const sagittal = systemMtf({ ...focused, workingFNumber: 4 / cosine });
    expect(fieldMtf({ pupil, lines: 'tangential', ...focused })).toBeCloseTo(tangential, 12);
    expect(fieldMtf({ pupil, lines: 'sagittal', ...focused })).toBeCloseTo(sagittal, 12);
    expect(tangential).toBeLessThan(sagittal);
  });

  it('property: a cut pupil goes over into the whole one without a step, with colour and defocus', () => {
    const light = { model: tunablePair, focalPowerDpt: 3, wavelengthNm: 525, bandwidthNm: 100 };
    const spectrum = layoutSpectrum({ ...light, abbeNumber: 30, axialColourUm: 30 });
    const cut = (offsetRatio: number): FieldPupil => ({
      chiefSlope: 0.3,
      workingFNumber: 4,
      otherStop: { radiusRatio: 1.3, offsetRatio },
    });
    for (const lines of ['tangential', 'sagittal'] as const) {
      const whole = fieldMtf({ pupil: cut(0.3 - 1e-9), lines, ...at, spectrum });
      const barely = fieldMtf({ pupil: cut(0.3 + 1e-6), lines, ...at, spectrum });
      expect(barely).toBeCloseTo(whole, 5);
    }
  });

  it('property: cutting the pupil across the radius costs tangential lines their contrast', () => {
    const pupil: FieldPupil = { ...straight, otherStop: { radiusRatio: 1, offsetRatio: 0.9 } };
    const focused = { ...at, defocusWaves: 0, spatialFrequencyPerMm: 120 };
    const tangential = fieldMtf({ pupil, lines: 'tangential', ...focused });
    const sagittal = fieldMtf({ pupil, lines: 'sagittal', ...focused });
    expect(tangential).toBeLessThan(0.8 * sagittal);
  });

  it('degenerate: a dark pupil has no contrast', () => {
    const pupil: FieldPupil = { ...straight, otherStop: { radiusRatio: 1, offsetRatio: 2.5 } };
    expect(fieldMtf({ pupil, lines: 'sagittal', ...at })).toBe(0);
  });

  it('refuses: values that are no numbers', () => {
    expect(() => fieldMtf({ pupil: straight, lines: 'sagittal', ...at, defocusWaves: Number.NaN })).toThrow(
      /defocusWaves is NaN waves/,
    );
  });
});
