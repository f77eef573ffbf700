import { mmFromUm, requireNotNegative, requireNumber, requirePositive } from '../base/index.js';

interface ThinLensBlur {
  focalLengthMm: number;
  fNumber: number;
  /** Largest allowed blur disc on the sensor. */
  blurDiameterUm: number;
}

/**
 * Nearest distance to focus at so that infinity is still sharp.
 *
 * Model    thin lens, geometric blur; diffraction left out
 * Formula  H = f² / (N·c) + f
 * Returns  mm from the lens, > focalLengthMm.
 * Throws   RangeError naming the field, if one is not finite or not > 0.
 * Trust    optimistic where 2.44·λ·N nears c: see airyRadiusUm.
 * Source   derived in docs/optics/depth-of-field.md
 * Checked  closed form: f 50 mm, N 8, c 30 µm → 10 466.67 mm
 */
export function hyperfocalDistanceMm({ focalLengthMm, fNumber, blurDiameterUm }: ThinLensBlur): number {
  requirePositive('focalLengthMm', focalLengthMm, 'mm');
  requirePositive('fNumber', fNumber);
  requirePositive('blurDiameterUm', blurDiameterUm, 'µm');
  return focalLengthMm ** 2 / (fNumber * mmFromUm(blurDiameterUm)) + focalLengthMm;
}

/**
 * Near and far limit of a thin lens, exact.
 *
 * Model    thin lens, geometric blur; distances from the lens
 * Formula  near = s(H − f)/(H + s − 2f);  far = s(H − f)/(H − s), infinity if s ≥ H
 * Returns  `farMm` and `totalMm` null where the field reaches infinity.
 * Throws   RangeError naming the field, if one is not > 0 or the object not beyond the focal length.
 * Source   derived in docs/optics/depth-of-field.md
 * Checked  reference: the four cases of references/tables/depth-of-field.json, tests/optics/thin-lens-depth-of-field.test.ts
 */
export function thinLensDepthOfField({ objectDistanceMm, ...lens }: ThinLensBlur & { objectDistanceMm: number }): {
  nearMm: number;
  farMm: number | null;
  totalMm: number | null;
} {
  const hyperfocalMm = hyperfocalDistanceMm(lens);
  requireNumber('objectDistanceMm', objectDistanceMm, { above: lens.focalLengthMm, unit: 'mm' });
  const reachMm = objectDistanceMm * (hyperfocalMm - lens.focalLengthMm);
  const nearMm = reachMm / (hyperfocalMm + objectDistanceMm - 2 * lens.focalLengthMm);
  if (objectDistanceMm >= hyperfocalMm) return { nearMm, farMm: null, totalMm: null };
  const farMm = reachMm / (hyperfocalMm - objectDistanceMm);
  return { nearMm, farMm, totalMm: farMm - nearMm };
}

/**
 * Depth of field close up, from size ratio alone.
 *
 * Formula  2·N·c·(1 + m/P) / m²
 * Returns  mm, near to far.
 * Throws   RangeError naming the field, if one is not > 0.
 * Trust    good within 1 % while the field is below a tenth of the distance; wrong far out.
 * Checked  reference: f 25 mm, N 4, c 3.45 µm, s 300 mm → 3.6432 mm
 */
export function closeUpDepthOfFieldMm({
  fNumber,
  blurDiameterUm,
  magnification,
  pupilMagnification,
}: {
  fNumber: number;
  blurDiameterUm: number;
  /** Size ratio image / object, without sign. */
  magnification: number;
  pupilMagnification: number;
}): number {
  requirePositive('fNumber', fNumber);
  requirePositive('blurDiameterUm', blurDiameterUm, 'µm');
  requirePositive('magnification', magnification);
  requirePositive('pupilMagnification', pupilMagnification);
  return (2 * fNumber * mmFromUm(blurDiameterUm) * (1 + magnification / pupilMagnification)) / magnification ** 2;
}

/**
 * Depth of field by wave optics, as microscopy gives it.
 *
 * Formula  n·λ / NA²
 * Returns  µm, total.
 * Throws   RangeError naming the field, if one is not > 0, or NA > n.
 * Source   Keiser, Biophotonics, eq. 8.4
 * Checked  reference: n 1.51, 780 nm, NA 0.20 → 29.4 µm; NA 0.55 → 3.89 µm
 */
export function waveDepthOfFieldUm({
  wavelengthNm,
  numericalAperture,
  refractiveIndex,
}: {
  wavelengthNm: number;
  /** Object side. */
  numericalAperture: number;
  /** Of the medium before the lens; 1 in air. */
  refractiveIndex: number;
}): number {
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  requirePositive('refractiveIndex', refractiveIndex);
  requireNumber('numericalAperture', numericalAperture, { above: 0, max: refractiveIndex });
  return (refractiveIndex * wavelengthNm) / 1000 / numericalAperture ** 2;
}

/**
 * Working f-number from the marked one.
 *
 * Model    whole system, thick, with pupils
 * Formula  N_w = N·(1 + |m|/P)
 * Throws   RangeError naming the field, if one is not > 0, or the magnification negative.
 * Trust    N and P must be those of the whole system: with a tunable lens beside the fixed lens use traceSystem.
 * Checked  closed form: N 5.6, |m| 0.25, P 0.8 → 7.35
 */
export function workingFNumberFrom({
  fNumber,
  magnification,
  pupilMagnification,
}: {
  fNumber: number;
  /** Size ratio image / object, without sign. */
  magnification: number;
  pupilMagnification: number;
}): number {
  requirePositive('fNumber', fNumber);
  requireNotNegative('magnification', magnification);
  requirePositive('pupilMagnification', pupilMagnification);
  return fNumber * (1 + magnification / pupilMagnification);
}
