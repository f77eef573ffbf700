import { requireFinite, requireNotNegative } from '../base/index.js';
import { uniformBlurMtf } from './pixel-aperture.js';

/**
 * Length of the smear of a moving object on the sensor.
 *
 * Formula  b = v·t·|m|
 * Returns  µm on the sensor.
 * Throws   RangeError if a value is not finite, or speed or exposure negative.
 * Checked  reference: 500 mm/s, 50 µs, |m| 0.2 → 5.0 µm
 */
export function motionBlurUm({
  speedMmPerS,
  exposureUs,
  magnification,
}: {
  speedMmPerS: number;
  exposureUs: number;
  magnification: number;
}): number {
  requireNotNegative('speedMmPerS', speedMmPerS, 'mm/s');
  requireNotNegative('exposureUs', exposureUs, 'µs');
  requireFinite('magnification', magnification);
  return (speedMmPerS * exposureUs * Math.abs(magnification)) / 1000;
}

/**
 * MTF of straight, even motion during the exposure, along the motion.
 *
 * Formula  sinc(ν·b)
 * Returns  signed; across the motion the MTF is 1.
 * Throws   RangeError if blur or frequency is negative or not finite.
 * Checked  reference: 1 px of 3.45 µm at 0.25 cy/px → 0.900316
 */
export function motionMtf({
  spatialFrequencyPerMm,
  motionBlurUm,
}: {
  spatialFrequencyPerMm: number;
  motionBlurUm: number;
}): number {
  requireNotNegative('motionBlurUm', motionBlurUm, 'µm');
  return uniformBlurMtf({ spatialFrequencyPerMm, widthUm: motionBlurUm });
}
