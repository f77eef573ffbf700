import { degFromRad, requireFinite, requirePositive } from '../base/index.js';

/**
 * Size of the field on the object.
 *
 * Formula  sensor size / |m|
 * Throws   RangeError naming the field, if a size is not > 0 or the magnification 0.
 * Trust    distortion left out.
 * Checked  closed form: f 16 mm, 8.8 mm, 500 mm → 266.2 mm
 */
export function fieldOfView({
  magnification,
  sensorWidthMm,
  sensorHeightMm,
}: {
  magnification: number;
  sensorWidthMm: number;
  sensorHeightMm: number;
}): { widthMm: number; heightMm: number; diagonalMm: number } {
  const scale = Math.abs(requireFinite('magnification', magnification));
  if (scale === 0)
    throw new RangeError('magnification is 0; allowed: not 0 (an object at infinity has only an angular field)');
  const widthMm = requirePositive('sensorWidthMm', sensorWidthMm, 'mm') / scale;
  const heightMm = requirePositive('sensorHeightMm', sensorHeightMm, 'mm') / scale;
  return { widthMm, heightMm, diagonalMm: Math.hypot(widthMm, heightMm) };
}

/**
 * Full angle of the field of a lens at infinity.
 *
 * Formula  2·atan(h / (2f))
 * Throws   RangeError naming the field, if one is not > 0.
 * Trust    angle times distance overstates a near field: use fieldOfView there.
 * Checked  closed form: f 16 mm, 8.8 mm → 30.7525°
 */
export function angularFieldDeg({ focalLengthMm, sensorMm }: { focalLengthMm: number; sensorMm: number }): number {
  requirePositive('focalLengthMm', focalLengthMm, 'mm');
  requirePositive('sensorMm', sensorMm, 'mm');
  return degFromRad(2 * Math.atan(sensorMm / (2 * focalLengthMm)));
}
