import { mmPerM, requireNumber } from '../base/index.js';

/**
 * Power of one refracting surface between air and a medium.
 *
 * Formula  P = (n − 1)/R
 * Input    radius in mm, positive where the centre lies behind the surface; Infinity for a plane
 * Throws   RangeError for an index below 1, or a radius of 0 or NaN.
 * Source   OpenStax University Physics vol. 3, module m58530
 */
export function surfacePowerDpt({ refractiveIndex, radiusMm }: { refractiveIndex: number; radiusMm: number }): number {
  requireNumber('refractiveIndex', refractiveIndex, { min: 1 });
  if (radiusMm === 0 || Number.isNaN(radiusMm)) {
    throw new RangeError(`radiusMm is ${radiusMm}; allowed: any length in mm but 0, Infinity for a plane`);
  }
  return (mmPerM * (refractiveIndex - 1)) / radiusMm;
}

/**
 * Power of a thin lens in air from the radii of its surfaces.
 *
 * Model    two surfaces at one place
 * Formula  P = (n − 1)(1/R₁ − 1/R₂)
 * Throws   RangeError as `surfacePowerDpt`.
 * Source   the lens maker's formula, OpenStax University Physics vol. 3, module m58530
 * Checked  reference: its example of a biconcave lens, f −20 cm, R 22 cm, in tests/optics/lens-maker.test.ts
 */
export function lensMakerPowerDpt({
  refractiveIndex,
  frontRadiusMm,
  backRadiusMm,
}: {
  refractiveIndex: number;
  frontRadiusMm: number;
  backRadiusMm: number;
}): number {
  return (
    surfacePowerDpt({ refractiveIndex, radiusMm: frontRadiusMm }) -
    surfacePowerDpt({ refractiveIndex, radiusMm: backRadiusMm })
  );
}

/**
 * How far a curved surface bulges over a given aperture.
 *
 * Formula  s = y²/(2R) = y²·P / (2(n − 1)), y half the aperture
 * Returns  mm, ≥ 0
 * Throws   RangeError for an index not above 1 or an aperture not > 0.
 * Trust    parabola in place of the circle: 1 % short where y is a fifth of R.
 */
export function surfaceBulgeMm({
  refractiveIndex,
  surfacePowerDpt: powerDpt,
  apertureMm,
}: {
  refractiveIndex: number;
  surfacePowerDpt: number;
  apertureMm: number;
}): number {
  requireNumber('refractiveIndex', refractiveIndex, { above: 1 });
  requireNumber('apertureMm', apertureMm, { above: 0, unit: 'mm' });
  return ((apertureMm / 2) ** 2 * Math.abs(powerDpt)) / (2 * (refractiveIndex - 1) * mmPerM);
}
