import {
  focalPowerAt,
  photonsFromGreyValue,
  photonsPerPixel,
  type SensorNoiseModel,
  signalToNoise,
  traceSystem,
} from '../optics/index.js';
import { layoutModelOf } from './layout-of-station.js';
import type { Station } from './schema.js';
import { middleDistanceMm } from './task-planes.js';

/** The station's sensor in the linear model of EMVA 1288; its full well is cut where the grey values end. */
export function sensorNoiseModelOf({ parts: { sensor } }: Station): SensorNoiseModel {
  const whiteDn = 2 ** sensor.bitDepth - 1;
  return {
    quantumEfficiency: sensor.quantumEfficiency,
    systemGainDnPerE: sensor.gainDnPerE,
    darkNoiseE: sensor.readNoiseE,
    darkCurrentEPerS: 0,
    saturationCapacityE: Math.min(sensor.fullWellE, Math.max(1, (whiteDn - sensor.blackLevelDn) / sensor.gainDnPerE)),
    darkOffsetDn: sensor.blackLevelDn,
    darkNonUniformityE: 0,
    responseNonUniformity: sensor.nonUniformity,
  };
}

/**
 * Irradiance on the sensor from a white target in the middle of the range, at the layout's f-number.
 *
 * Model    as stated, or from one measured frame: its photons by the linear camera over those of 1 µW/cm², over the
 *          target's reflectance; brought from the f-number it was taken at to the layout's
 * Formula  E = μ_p(grey) / (μ_p(1 µW/cm²) · reflectance) · (N_w at atFNumber / N_w at layout.fNumber)², N_w the traced
 *          working f-number, so that opening a lens whose beam the tunable lens cuts gains nothing
 * Returns  µW/cm², > 0.
 * Trust    a measured frame knows the light no better than K, η and the black level are known.
 * Checked  property: a frame computed from an irradiance gives it back, tests/station/predicted-light.test.ts
 */
export function whiteIrradianceUwPerCm2(station: Station): number {
  const { light } = station.parts;
  const { fNumber } = station.layout;
  const stated = light.measured ? measuredIrradianceUwPerCm2(station, light.measured) : light.sensorIrradianceUwPerCm2!;
  if (light.atFNumber === undefined || light.atFNumber === fNumber) return stated;
  return stated * (middleFNumberOf(station, light.atFNumber) / middleFNumberOf(station, fNumber)) ** 2;
}

function measuredIrradianceUwPerCm2(
  station: Station,
  { meanGreyDn, exposureMs, reflectance }: NonNullable<Station['parts']['light']['measured']>,
): number {
  const { sensor, light } = station.parts;
  const photons = photonsFromGreyValue({ sensor: sensorNoiseModelOf(station), meanDn: meanGreyDn, exposureMs });
  const perUnit = photonsPerPixel({
    irradianceUwPerCm2: 1,
    exposureMs,
    wavelengthNm: light.wavelengthNm,
    pixelPitchUm: sensor.pixelPitchUm,
  });
  return photons / (perUnit * reflectance);
}

/** Working f-number when focused on the middle of the range, with the fixed lens at an f-number. */
export function middleFNumberOf(station: Station, fNumber: number): number {
  const nominal = layoutModelOf(station);
  const model = { ...nominal, fixedLens: { ...nominal.fixedLens, fNumber } };
  const middle = focalPowerAt({ model, workingDistanceMm: middleDistanceMm(station) });
  const focalPowerDpt = middle.kind === 'power' ? middle.focalPowerDpt : station.controls.parkPowerDpt;
  return traceSystem({ model, focalPowerDpt }).workingFNumber;
}

/**
 * Photons of a white target on one pixel during an exposure.
 *
 * Formula  photonsPerPixel · relativeIrradiance
 * Input    `relativeIrradiance`: light on the sensor relative to what the station file states, 1 by default
 */
export function whitePhotonsPerPixel({
  station,
  exposureMs = station.controls.exposureMs,
  relativeIrradiance = 1,
}: {
  station: Station;
  exposureMs?: number;
  relativeIrradiance?: number;
}): number {
  const { light, sensor } = station.parts;
  return photonsPerPixel({
    irradianceUwPerCm2: whiteIrradianceUwPerCm2(station) * relativeIrradiance,
    exposureMs,
    wavelengthNm: light.wavelengthNm,
    pixelPitchUm: sensor.pixelPitchUm,
  });
}

/**
 * Signal-to-noise ratio of a black-and-white pattern whose contrast has fallen to `contrast`, in one pixel.
 *
 * Model    EMVA 1288 with the sensor's non-uniformity; pattern of half black, half white, so its mean is half of white
 * Formula  (white · contrast) / noise at half of white = 2 · contrast · SNR(half of white)
 * Throws   RangeError for photons that are not ≥ 0.
 */
export function patternSignalToNoise({
  station,
  whitePhotons,
  contrast,
  exposureMs = station.controls.exposureMs,
}: {
  station: Station;
  whitePhotons: number;
  contrast: number;
  exposureMs?: number;
}): number {
  const sensor = sensorNoiseModelOf(station);
  return 2 * contrast * signalToNoise({ sensor, photons: whitePhotons / 2, exposureMs }).total;
}
