import { requireFinite, requireNotNegative, requireNumber, requirePositive } from '../base/index.js';

/** Planck constant × speed of light, in J·m (SI, exact). */
const planckTimesLight = 6.62607015e-34 * 299792458;
/** Variance of rounding to whole grey values. */
const quantisationVarianceDn2 = 1 / 12;

/** A camera in the linear model of EMVA 1288. Grey values in DN, charges in electrons. */
export interface SensorNoiseModel {
  /** Electrons per photon at the light's wavelength, 0 … 1. */
  quantumEfficiency: number;
  /** Overall system gain K. */
  systemGainDnPerE: number;
  /** Temporal dark noise σ_d0 at zero exposure. */
  darkNoiseE: number;
  /** Dark current μ_I at the sensor's temperature. */
  darkCurrentEPerS: number;
  /** Saturation capacity. */
  saturationCapacityE: number;
  /** Mean grey value without light at zero exposure. */
  darkOffsetDn: number;
  /** Spatial non-uniformity in the dark (DSNU). */
  darkNonUniformityE: number;
  /** Spatial non-uniformity of the response (PRNU), as a fraction. */
  responseNonUniformity: number;
}

/**
 * Photons that reach a pixel during the exposure.
 *
 * Formula  μ_p = A·E·t·λ / (h·c) = 50.341 · A[µm²]·t[ms]·λ[µm]·E[µW/cm²]
 * Throws   RangeError naming the field, if one is not finite, or negative.
 * Source   EMVA Standard 1288, Release 3.1, eq. 4
 * Checked  reference: 3.45 µm pixel, 525 nm, 1 µW/cm², 1 ms → 314.5725
 */
export function photonsPerPixel({
  irradianceUwPerCm2,
  exposureMs,
  wavelengthNm,
  pixelPitchUm,
}: {
  irradianceUwPerCm2: number;
  exposureMs: number;
  wavelengthNm: number;
  pixelPitchUm: number;
}): number {
  requireNotNegative('irradianceUwPerCm2', irradianceUwPerCm2, 'µW/cm²');
  requireNotNegative('exposureMs', exposureMs, 'ms');
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  requirePositive('pixelPitchUm', pixelPitchUm, 'µm');
  const energyJ = irradianceUwPerCm2 * 1e-2 * (pixelPitchUm * 1e-6) ** 2 * (exposureMs * 1e-3);
  return energyJ / (planckTimesLight / (wavelengthNm * 1e-9));
}

/**
 * Mean and temporal noise of a pixel's grey value.
 *
 * Formula  μ_y = K·(η·μ_p + μ_I·t) + offset;  σ_y² = K²·(σ_d0² + μ_I·t + η·μ_p) + 1/12
 * Returns  `saturated` where the charge reaches the saturation capacity: mean held there, noise no longer linear.
 * Throws   RangeError naming the field, if one is out of its range.
 * Trust    below about 0.25 DN of dark noise rounding is no longer independent of the signal.
 * Source   EMVA Standard 1288 (from memory, derived again)
 * Checked  reference: worked example, tests/optics/sensor-noise.test.ts
 */
export function greyValueStatistics({
  sensor,
  photons,
  exposureMs,
}: {
  sensor: SensorNoiseModel;
  photons: number;
  exposureMs: number;
}): { meanDn: number; temporalStdDn: number; signalE: number; saturated: boolean } {
  const { signalE, darkE } = chargesE({ sensor, photons, exposureMs });
  const saturated = signalE + darkE >= sensor.saturationCapacityE;
  const chargeE = Math.min(signalE + darkE, sensor.saturationCapacityE);
  const gain = sensor.systemGainDnPerE;
  return {
    meanDn: sensor.darkOffsetDn + gain * chargeE,
    temporalStdDn: Math.sqrt(gain ** 2 * (sensor.darkNoiseE ** 2 + chargeE) + quantisationVarianceDn2),
    signalE,
    saturated,
  };
}

/**
 * Signal-to-noise ratio of one pixel: temporal, and with spatial non-uniformity.
 *
 * Formula  SNR = η·μ_p / √(σ_d² + σ_q²/K² + η·μ_p [+ DSNU² + PRNU²·(η·μ_p)²]), σ_d² = σ_d0² + μ_I·t
 * Returns  `ideal` = √μ_p, that of a perfect sensor. In dB: decibels(ratio).
 * Throws   RangeError naming the field, if one is out of its range.
 * Trust    says nothing beyond saturation: see greyValueStatistics.
 * Source   EMVA Standard 1288; form with non-uniformity from memory
 * Checked  reference: worked example → 14.06304 (22.9616 dB)
 */
export function signalToNoise({
  sensor,
  photons,
  exposureMs,
}: {
  sensor: SensorNoiseModel;
  photons: number;
  exposureMs: number;
}): { temporal: number; total: number; ideal: number } {
  const { signalE, darkE } = chargesE({ sensor, photons, exposureMs });
  const temporalVarianceE2 = signalE + darkE + constantNoiseE2(sensor);
  const spatialVarianceE2 = sensor.darkNonUniformityE ** 2 + (sensor.responseNonUniformity * signalE) ** 2;
  return {
    temporal: signalE / Math.sqrt(temporalVarianceE2),
    total: signalE / Math.sqrt(temporalVarianceE2 + spatialVarianceE2),
    ideal: Math.sqrt(photons),
  };
}

/**
 * Figures of merit of a sensor at zero exposure time.
 *
 * Formula  threshold (SNR = 1) μ_p = [√(σ_d² + σ_q²/K² + ¼) + ½] / η;  saturation μ_p = sat/η;  DR = their ratio;
 *          SNR_max = √sat
 * Throws   RangeError naming the field, if one is out of its range.
 * Source   EMVA Standard 1288 (from memory; derived again)
 * Checked  reference: worked example → threshold 4.891697, DR 3302.299, SNR_max 102.4695
 */
export function sensorFigures({ sensor }: { sensor: SensorNoiseModel }): {
  thresholdPhotons: number;
  saturationPhotons: number;
  dynamicRange: number;
  maxSignalToNoise: number;
} {
  requireSensorNoiseModel(sensor);
  const thresholdE = Math.sqrt(constantNoiseE2(sensor) + 0.25) + 0.5;
  return {
    thresholdPhotons: thresholdE / sensor.quantumEfficiency,
    saturationPhotons: sensor.saturationCapacityE / sensor.quantumEfficiency,
    dynamicRange: sensor.saturationCapacityE / thresholdE,
    maxSignalToNoise: Math.sqrt(sensor.saturationCapacityE),
  };
}

/**
 * Photons per pixel from one measured mean grey value: the light without a radiometer.
 *
 * Formula  μ_p = [(μ_y − offset)/K − μ_I·t] / η
 * Returns  ≥ 0; 0 where the grey value does not rise above the dark one.
 * Throws   RangeError naming the field, if one is out of its range, or the grey value at or above saturation.
 * Trust    no better than K, η and offset are known.
 * Checked  property: inverse of greyValueStatistics
 */
export function photonsFromGreyValue({
  sensor,
  meanDn,
  exposureMs,
}: {
  sensor: SensorNoiseModel;
  meanDn: number;
  exposureMs: number;
}): number {
  requireSensorNoiseModel(sensor);
  requireNotNegative('exposureMs', exposureMs, 'ms');
  const saturationDn = sensor.darkOffsetDn + sensor.systemGainDnPerE * sensor.saturationCapacityE;
  requireNumber('meanDn', meanDn, { below: saturationDn, unit: 'DN' });
  const chargeE = (meanDn - sensor.darkOffsetDn) / sensor.systemGainDnPerE;
  return Math.max(0, (chargeE - darkChargeE(sensor, exposureMs)) / sensor.quantumEfficiency);
}

/**
 * Photons that give a signal-to-noise ratio, non-uniformity included: the inverse of signalToNoise's `total`.
 *
 * Formula  S = [r² + √(r⁴ + 4(1 − r²·PRNU²)·r²·σ²)] / (2(1 − r²·PRNU²)), σ² = σ_d² + σ_q²/K² + DSNU²;  μ_p = S/η
 * Returns  null where non-uniformity keeps the ratio below 1/PRNU however bright it is.
 * Throws   RangeError naming the field, if one is out of its range.
 * Trust    knows no saturation: compare with sensorFigures.
 * Checked  property: inverse of signalToNoise, tests/optics/sensor-noise.test.ts
 */
export function photonsForSignalToNoise({
  sensor,
  signalToNoise: ratio,
  exposureMs,
}: {
  sensor: SensorNoiseModel;
  signalToNoise: number;
  exposureMs: number;
}): number | null {
  requireSensorNoiseModel(sensor);
  requireNotNegative('signalToNoise', ratio);
  requireNotNegative('exposureMs', exposureMs, 'ms');
  const square = ratio ** 2;
  const share = 1 - square * sensor.responseNonUniformity ** 2;
  if (share <= 0) return null;
  const noiseE2 = constantNoiseE2(sensor) + darkChargeE(sensor, exposureMs) + sensor.darkNonUniformityE ** 2;
  return (square + Math.sqrt(square ** 2 + 4 * share * square * noiseE2)) / (2 * share) / sensor.quantumEfficiency;
}

/** A ratio of amplitudes in decibels: 20·log10. Throws RangeError if it is not > 0. */
export function decibels(ratio: number): number {
  return 20 * Math.log10(requirePositive('ratio', ratio));
}

/** Throws RangeError naming the field of a sensor model that is out of its range. */
export function requireSensorNoiseModel(sensor: SensorNoiseModel): void {
  requireNumber('sensor.quantumEfficiency', sensor.quantumEfficiency, { above: 0, max: 1 });
  requirePositive('sensor.systemGainDnPerE', sensor.systemGainDnPerE, 'DN/e');
  requireNotNegative('sensor.darkNoiseE', sensor.darkNoiseE, 'e');
  requireNotNegative('sensor.darkCurrentEPerS', sensor.darkCurrentEPerS, 'e/s');
  requirePositive('sensor.saturationCapacityE', sensor.saturationCapacityE, 'e');
  requireFinite('sensor.darkOffsetDn', sensor.darkOffsetDn, 'DN');
  requireNotNegative('sensor.darkNonUniformityE', sensor.darkNonUniformityE, 'e');
  requireNotNegative('sensor.responseNonUniformity', sensor.responseNonUniformity);
}

function chargesE({ sensor, photons, exposureMs }: { sensor: SensorNoiseModel; photons: number; exposureMs: number }) {
  requireSensorNoiseModel(sensor);
  requireNotNegative('photons', photons, 'photons');
  requireNotNegative('exposureMs', exposureMs, 'ms');
  return { signalE: sensor.quantumEfficiency * photons, darkE: darkChargeE(sensor, exposureMs) };
}

const darkChargeE = (sensor: SensorNoiseModel, exposureMs: number): number =>
  (sensor.darkCurrentEPerS * exposureMs) / 1000;

/** Variance at zero exposure, referred to electrons: dark noise and rounding. */
const constantNoiseE2 = (sensor: SensorNoiseModel): number =>
  sensor.darkNoiseE ** 2 + quantisationVarianceDn2 / sensor.systemGainDnPerE ** 2;
