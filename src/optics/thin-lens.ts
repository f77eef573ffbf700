import { requireFinite, requirePositive } from '../base/index.js';

/**
 * Image of a real object by a thin lens.
 *
 * Model    paraxial thin lens in air; distances are positive for a real object and a real image.
 * Formula  1/s + 1/s' = 1/f;  m = −s'/s = f/(f − s)
 * Returns  `imageDistanceMm` negative for a virtual image; null, with magnification null, for an object in the front
 *          focal plane, whose image lies at infinity.
 * Throws   RangeError if a length is not finite, the object distance not > 0 or the focal length 0.
 * Source   OpenStax University Physics vol. 3, module m58530
 * Checked  reference: worked examples in tests/optics/thin-lens.test.ts
 */
export function thinLensImage({
  focalLengthMm,
  objectDistanceMm,
}: {
  focalLengthMm: number;
  objectDistanceMm: number;
}): { imageDistanceMm: number | null; magnification: number | null } {
  requireFocalLength(focalLengthMm);
  requirePositive('objectDistanceMm', objectDistanceMm, 'mm');
  const excessMm = objectDistanceMm - focalLengthMm;
  if (excessMm === 0) return { imageDistanceMm: null, magnification: null };
  return {
    imageDistanceMm: (focalLengthMm * objectDistanceMm) / excessMm,
    magnification: -focalLengthMm / excessMm,
  };
}

/**
 * Object and image distance of a thin lens at a wanted size ratio.
 *
 * Formula  s = f(1 + 1/|m|);  s' = f(1 + |m|)
 * Throws   RangeError if focal length or magnification is not > 0.
 * Source   the thin-lens equation solved for s
 * Checked  closed form: 5 mm tube on f 25 mm → |m| 0.2, s 150 mm, s' 30 mm
 */
export function thinLensDistancesAt({
  focalLengthMm,
  magnification,
}: {
  focalLengthMm: number;
  /** Size ratio image / object, without sign. */
  magnification: number;
}): { objectDistanceMm: number; imageDistanceMm: number } {
  requirePositive('focalLengthMm', focalLengthMm, 'mm');
  requirePositive('magnification', magnification);
  return {
    objectDistanceMm: focalLengthMm * (1 + 1 / magnification),
    imageDistanceMm: focalLengthMm * (1 + magnification),
  };
}

/**
 * Focal length from a measured object and image distance.
 *
 * Formula  f = s·s' / (s + s')
 * Throws   RangeError if a distance is not finite, or if they add to 0 (no lens).
 */
export function thinLensFocalLengthMm({
  objectDistanceMm,
  imageDistanceMm,
}: {
  objectDistanceMm: number;
  imageDistanceMm: number;
}): number {
  requirePositive('objectDistanceMm', objectDistanceMm, 'mm');
  requireFinite('imageDistanceMm', imageDistanceMm, 'mm');
  const sumMm = objectDistanceMm + imageDistanceMm;
  if (sumMm === 0) throw new RangeError(`imageDistanceMm is ${imageDistanceMm} mm; allowed: not −objectDistanceMm`);
  return (objectDistanceMm * imageDistanceMm) / sumMm;
}

/** Checks a focal length of either sign. */
function requireFocalLength(focalLengthMm: number): void {
  requireFinite('focalLengthMm', focalLengthMm, 'mm');
  if (focalLengthMm === 0) throw new RangeError('focalLengthMm is 0 mm; allowed: a finite number other than 0 mm');
}
