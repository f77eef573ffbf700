import { describe, expect, it } from 'vitest';
import {
  chiefRayMagnification,
  defocusWaves,
  defocusWavesFromImageShift,
  defocusWavesFromPower,
  focalPowerAt,
  type LayoutModel,
  layoutDefocusWaves,
  pupilView,
} from '../../src/optics/index.js';
import { threeLayouts, tunablePair } from './layouts.js';

const wavelengthNm = 550;

function powerFor(model: LayoutModel, workingDistanceMm: number): number {
  const found = focalPowerAt({ model, workingDistanceMm });
  if (found.kind !== 'power') throw new Error(found.reason);
  return found.focalPowerDpt;
}

describe('defocus in waves', () => {
  it('closed form: 0.01 dpt over a 10 mm pupil at 550 nm → 0.2273 waves (computed)', () => {
    expect(defocusWavesFromPower({ pupilDiameterMm: 10, powerChangeDpt: 0.01, wavelengthNm })).toBeCloseTo(0.2273, 4);
  });

  it.each([
    [3, 0.1222],
    [5, 0.044],
    [10, 0.011],
    [16, 0.0043],
  ])('reference: a quarter wave over a pupil of %d mm is %d dpt (computed)', (pupilDiameterMm, dpt) => {
    const waves = defocusWavesFromPower({ pupilDiameterMm, powerChangeDpt: 1, wavelengthNm });
    expect(0.25 / waves).toBeCloseTo(dpt, 4);
  });

  it('closed form: 20 µm at N 4 and 550 nm → 0.28409 waves; 2·λ·N² → a quarter wave', () => {
    expect(defocusWavesFromImageShift({ imageShiftMm: 0.02, workingFNumber: 4, wavelengthNm })).toBeCloseTo(0.28409, 5);
    const imageShiftMm = 2 * 550e-6 * 16;
    expect(defocusWavesFromImageShift({ imageShiftMm, workingFNumber: 4, wavelengthNm })).toBeCloseTo(0.25, 12);
  });

  it('closed form: from distances, positive for the nearer object; null is infinity', () => {
    const at = (objectFromPupilMm: number | null) =>
      defocusWaves({ entrancePupilDiameterMm: 10, objectFromPupilMm, sharpFromPupilMm: 1000, wavelengthNm });
    expect(at(990)).toBeCloseTo((25 * (1 / 990 - 1 / 1000)) / (2 * 550e-6), 9);
    expect(at(1000)).toBe(0);
    expect(at(null)).toBeCloseTo((-25 * 1e-3) / (2 * 550e-6), 9);
  });

  it.each(threeLayouts)('property: %s, 0 when sharp; to first order that of the image shift m²·Δs', (_, model) => {
    const focalPowerDpt = powerFor(model, 250);
    const at = (workingDistanceMm: number) =>
      layoutDefocusWaves({ model, focalPowerDpt, workingDistanceMm, wavelengthNm });
    expect(at(250)).toBeCloseTo(0, 7);
    expect(at(249)).toBeGreaterThan(0);
    const magnification = chiefRayMagnification({ model, focalPowerDpt, workingDistanceMm: 250 });
    const fromShift = defocusWavesFromImageShift({
      imageShiftMm: magnification ** 2 * 0.01,
      workingFNumber: pupilView({ model, focalPowerDpt }).workingFNumber,
      wavelengthNm,
    });
    expect(at(249.99) / fromShift).toBeCloseTo(1, 3);
  });

  it('refuses an object at the pupil, and values that are not finite', () => {
    const inside = pupilView({ model: tunablePair, focalPowerDpt: 0 }).beforeFirstPlaneMm;
    expect(() =>
      layoutDefocusWaves({ model: tunablePair, focalPowerDpt: 0, workingDistanceMm: inside, wavelengthNm }),
    ).toThrow(/entrance pupil/);
    expect(() => defocusWavesFromPower({ pupilDiameterMm: 0, powerChangeDpt: 1, wavelengthNm })).toThrow(
      /pupilDiameterMm/,
    );
    expect(() => defocusWavesFromImageShift({ imageShiftMm: 1, workingFNumber: 4, wavelengthNm: 0 })).toThrow(
      /wavelengthNm/,
    );
  });
});
