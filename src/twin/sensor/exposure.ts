import type { NoiseDraws } from './noise-draws.js';

/** The linear camera of EMVA 1288. */
export interface SensorModel {
  gainDnPerE: number;
  blackLevelDn: number;
  fullWellE: number;
  readNoiseE: number;
  bitDepth: number;
}

/** One exposure of all pixels. */
export interface Exposure {
  widthPx: number;
  heightPx: number;
  /** Values per row of image and response; the first widthPx are pixels. */
  strideCount: number;
  /** Noise-free image, 1 = white target at full light. */
  image: Float32Array;
  /** Relative illumination × photo response of each pixel. */
  response: Float32Array;
  /** Mean electrons of a pixel of image 1 and response 1. */
  electronsAtWhiteE: number;
}

/** Below this mean, photon noise is drawn from Poisson's law; above it the normal law is as good. */
export const smallMeanE = 25;

/**
 * Grey values of one exposure.
 *
 * Model    linear camera of EMVA 1288: electrons with photon and dark noise, held at full well, gain, black level, rounding,
 *          held at 0 and at the largest grey value
 * Formula  y = round(K·min(e, full well) + black), e = μ + √(μ + σ_d²)·n; for μ < 25 e = Poisson(μ) + σ_d·n
 * Returns  grey values, row by row without padding.
 * Trust    no dark current, no cross-talk, no column noise; above 25 electrons the skew of Poisson's law is left out.
 * Source   EMVA Standard 1288, Release 3.1
 * Checked  reference: mean and variance of the worked example, tests/twin/sensor/exposure.test.ts (both versions)
 */
export function expose(exposure: Exposure, sensor: SensorModel, draws: NoiseDraws): Uint16Array {
  const { widthPx, heightPx, strideCount, image, response, electronsAtWhiteE } = exposure;
  const grey = new Uint16Array(widthPx * heightPx);
  const top = 2 ** sensor.bitDepth - 1;
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const at = y * strideCount + x;
      const mean = Math.max(0, image[at]! * response[at]! * electronsAtWhiteE);
      const noise = draws.normals[draws.rowOffsets[y]! + x]!;
      const electrons =
        mean < smallMeanE
          ? poisson(mean, uniformOf(draws.poissonSeed, at)) + sensor.readNoiseE * noise
          : mean + noise * Math.sqrt(mean + sensor.readNoiseE ** 2);
      grey[y * widthPx + x] = greyValue(electrons, sensor, top);
    }
  }
  return grey;
}

/** Grey value of a charge. */
export function greyValue(electrons: number, sensor: SensorModel, top = 2 ** sensor.bitDepth - 1): number {
  const dn = Math.min(electrons, sensor.fullWellE) * sensor.gainDnPerE + sensor.blackLevelDn;
  return Math.max(0, Math.min(top, Math.round(dn)));
}

/** Number of photons at a uniform draw: inversion of Poisson's distribution. */
export function poisson(mean: number, uniform: number): number {
  let term = Math.exp(-mean);
  let sum = term;
  let count = 0;
  while (uniform > sum && count < 200) {
    count++;
    term *= mean / count;
    sum += term;
  }
  return count;
}

/** A number in 0 … 1 that depends on seed and pixel alone. */
function uniformOf(seed: number, pixel: number): number {
  let z = (seed + Math.imul(pixel, 0x9e3779b9)) | 0;
  z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
  z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
  return (((z ^ (z >>> 16)) >>> 0) + 0.5) / 4294967296;
}
