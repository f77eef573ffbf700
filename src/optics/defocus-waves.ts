import { mmFromNm, mmPerM, requireFinite, requirePositive } from '../base/index.js';
import type { LayoutModel } from './layout-model.js';
import { firstPlaneDistanceMm } from './power-distance.js';
import { type PupilView, pupilView } from './pupil-view.js';

/**
 * Defocus of an object away from the sharp plane, as wavefront error at the pupil's edge.
 *
 * Model    paraxial; distances from the entrance pupil
 * Formula  W20 = (D/2)² · (1/s − 1/s0) / (2·λ)
 * Returns  waves; positive for an object nearer than the sharp plane.
 * Throws   RangeError naming the field, if a length is not > 0 (null = infinity).
 * Source   definition of W20; also docs/optics/defocus-otf.md
 * Checked  closed form: 0.01 dpt over a 10 mm pupil at 550 nm → 0.2273 waves
 */
export function defocusWaves({
  entrancePupilDiameterMm,
  objectFromPupilMm,
  sharpFromPupilMm,
  wavelengthNm,
}: {
  entrancePupilDiameterMm: number;
  objectFromPupilMm: number | null;
  sharpFromPupilMm: number | null;
  wavelengthNm: number;
}): number {
  const vergencePerMm = (name: string, mm: number | null) => (mm === null ? 0 : 1 / requirePositive(name, mm, 'mm'));
  const powerChangeDpt =
    mmPerM *
    (vergencePerMm('objectFromPupilMm', objectFromPupilMm) - vergencePerMm('sharpFromPupilMm', sharpFromPupilMm));
  return defocusWavesFromPower({ pupilDiameterMm: entrancePupilDiameterMm, powerChangeDpt, wavelengthNm });
}

/**
 * Defocus from a change of power at a pupil.
 *
 * Formula  W20 = (D/2)² · ΔP / (2·λ)
 * Returns  waves, with the sign of the power change.
 * Throws   RangeError naming the field, if the change is not finite, diameter or wavelength not > 0.
 */
export function defocusWavesFromPower({
  pupilDiameterMm,
  powerChangeDpt,
  wavelengthNm,
}: {
  pupilDiameterMm: number;
  powerChangeDpt: number;
  wavelengthNm: number;
}): number {
  requirePositive('pupilDiameterMm', pupilDiameterMm, 'mm');
  requireFinite('powerChangeDpt', powerChangeDpt, 'dpt');
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  return ((pupilDiameterMm / 2) ** 2 * (powerChangeDpt / mmPerM)) / (2 * mmFromNm(wavelengthNm));
}

/**
 * Defocus from the distance between image and sensor.
 *
 * Formula  W20 = Δz / (8·λ·N²), N the working f-number
 * Returns  waves, with the sign of the shift.
 * Throws   RangeError naming the field, if the shift is not finite, f-number or wavelength not > 0.
 * Checked  closed form: 20 µm at N 4 and 550 nm → 0.28409 waves
 */
export function defocusWavesFromImageShift({
  imageShiftMm,
  workingFNumber,
  wavelengthNm,
}: {
  imageShiftMm: number;
  workingFNumber: number;
  wavelengthNm: number;
}): number {
  requireFinite('imageShiftMm', imageShiftMm, 'mm');
  requirePositive('workingFNumber', workingFNumber);
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  return imageShiftMm / (8 * mmFromNm(wavelengthNm) * workingFNumber ** 2);
}

/**
 * Defocus of an object at a working distance, in a layout at a focal power.
 *
 * Model    as defocusWaves, with the pupil of the whole system
 * Returns  waves; positive for an object nearer than the sharp plane.
 * Throws   RangeError naming the field of a layout that cannot be built, or a distance at the entrance pupil.
 * Checked  property: 0 at the sharp distance; equals the image shift to first order, tests/optics/defocus-waves.test.ts
 */
export function layoutDefocusWaves({
  model,
  focalPowerDpt,
  workingDistanceMm,
  wavelengthNm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  workingDistanceMm: number;
  wavelengthNm: number;
}): number {
  const view = pupilView({ model, focalPowerDpt });
  const vergencePerMm = vergenceFromPupilPerMm({ view, model, workingDistanceMm });
  return defocusWavesFromPower({
    pupilDiameterMm: view.diameterMm,
    powerChangeDpt: mmPerM * (vergencePerMm - view.focusVergencePerMm),
    wavelengthNm,
  });
}

/** 1 / (distance from the entrance pupil) of an object at a working distance. */
export function vergenceFromPupilPerMm({
  view,
  model,
  workingDistanceMm,
}: {
  view: PupilView;
  model: LayoutModel;
  workingDistanceMm: number;
}): number {
  const fromPupilMm = firstPlaneDistanceMm(model, workingDistanceMm) - view.beforeFirstPlaneMm;
  if (fromPupilMm === 0) {
    throw new RangeError(`workingDistanceMm is ${workingDistanceMm} mm; allowed: not the place of the entrance pupil`);
  }
  return 1 / fromPupilMm;
}
