import type { Station } from './schema.js';

/**
 * Temporal noise of one pixel at a grey value.
 *
 * Model    EMVA 1288 linear: photon noise, dark noise and rounding; gain and black level scaled where the frames have another
 *          bit depth than the station's sensor
 * Formula  σ² = K² σ_d² + K (µ − µ_black) + 1/12
 * Source   EMVA 1288 Release 4.0 Linear, noise model (form from memory; derived again)
 */
export function sensorNoiseStdDn({
  sensor,
  greyDn,
  bitDepth,
}: {
  sensor: Station['parts']['sensor'];
  greyDn: number;
  bitDepth: number;
}): number {
  const scale = 2 ** (bitDepth - sensor.bitDepth);
  const gain = sensor.gainDnPerE * scale;
  const signalDn = Math.max(0, greyDn - sensor.blackLevelDn * scale);
  return Math.sqrt((gain * sensor.readNoiseE) ** 2 + gain * signalDn + 1 / 12);
}

/**
 * Grey value from which on a pixel counts as saturated.
 *
 * Formula  98 % of the smaller of full scale and black level + K · full well
 */
export function saturationLevelDn({
  sensor,
  bitDepth,
}: {
  sensor: Station['parts']['sensor'];
  bitDepth: number;
}): number {
  const scale = 2 ** (bitDepth - sensor.bitDepth);
  const fullWellDn = scale * (sensor.blackLevelDn + sensor.gainDnPerE * sensor.fullWellE);
  return 0.98 * Math.min(2 ** bitDepth - 1, fullWellDn);
}
