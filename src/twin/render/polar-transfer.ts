import { directionCount } from './coma-pupil-otf.js';

/** Samples over the radius, evenly spaced from 0 to the grid's highest frequency. */
export const polarRadiusCount = 2048;

/**
 * A transfer function that depends on direction, symmetrical about the image's y axis: rows for the angles from y to x, each
 * over the radius. For −y it is the conjugate.
 */
export interface PolarTransfer {
  /** `directionCount` × `polarRadiusCount`, row-major. */
  real: Float32Array;
  imaginary: Float32Array;
}

/** Radius in samples of a polar transfer function. */
export const radiusPlace = (frequencyPerMm: number, highestPerMm: number): number =>
  (frequencyPerMm / highestPerMm) * (polarRadiusCount - 1);

/** Place of a frequency in a polar transfer function, as PolarTransfer counts. */
export const directionPlace = (kxPerMm: number, kyPerMm: number): number =>
  (Math.atan2(Math.abs(kxPerMm), Math.abs(kyPerMm)) / (Math.PI / 2)) * (directionCount - 1);

/** Bilinear value between the four samples around a place; written to `to` as [real, imaginary] from `at` on. */
export function polarValue(
  { real, imaginary }: PolarTransfer,
  { direction, radius }: { direction: number; radius: number },
  to: Float32Array | Float64Array,
  at: number,
): void {
  const d = Math.min(Math.floor(direction), directionCount - 2);
  const r = Math.min(Math.floor(radius), polarRadiusCount - 2);
  const y = direction - d;
  const x = radius - r;
  const from = d * polarRadiusCount + r;
  const next = from + polarRadiusCount;
  const a = (1 - y) * (1 - x);
  const b = (1 - y) * x;
  const c = y * (1 - x);
  const e = y * x;
  to[at] = a * real[from]! + b * real[from + 1]! + c * real[next]! + e * real[next + 1]!;
  to[at + 1] = a * imaginary[from]! + b * imaginary[from + 1]! + c * imaginary[next]! + e * imaginary[next + 1]!;
}
