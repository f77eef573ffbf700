import { radFromDeg, requireFinite, requireNotNegative } from '../base/index.js';
import { diffractionMtf } from './diffraction.js';
import { pupilShapeOtf } from './pupil-shape-otf.js';

/** Primary coma at the pupil's edge / its rms with the tilt that shifts the image taken out: 6·√2. */
export const comaEdgePerRms = Math.sqrt(72);

/**
 * Loss of contrast from primary coma, in focus.
 *
 * Model    W = W31·ρ³·cos θ, W31 = 6√2·rms; the lower of coma along and across the frequency, so the worst orientation
 * Formula  |OTF with coma| / |OTF without|
 * Returns  factor on the MTF, 0 … 1; 1 from the cutoff on, where the diffraction MTF is 0 anyway.
 * Throws   RangeError if frequency or coma is negative or not finite, or the coma too great to integrate.
 * Trust    exact in focus; out of focus or with axial colour the product with their transfer function is an estimate.
 * Source   pupilShapeOtf; rms of primary coma: Mahajan's closed forms (from memory)
 * Checked  reference: numpy FFT of the aberrated pupil; property: no orientation is worse, tests/optics/coma.test.ts
 */
export function comaMtf({
  normalisedFrequency,
  comaRmsWaves,
}: {
  normalisedFrequency: number;
  comaRmsWaves: number;
}): number {
  const s = requireNotNegative('normalisedFrequency', normalisedFrequency);
  requireNotNegative('comaRmsWaves', comaRmsWaves, 'waves');
  if (comaRmsWaves === 0 || s === 0 || s >= 1) return 1;
  const modulusAt = (comaAzimuthRad: number) => {
    const { real, imaginary } = pupilShapeOtf({
      normalisedFrequency: s,
      discs: [{ centreX: 0, centreY: 0, radius: 1 }],
      defocusWaves: 0,
      comaWaves: comaRmsWaves * comaEdgePerRms,
      comaAzimuthRad,
    });
    return Math.hypot(real, imaginary);
  };
  return Math.min(1, Math.min(modulusAt(0), modulusAt(Math.PI / 2)) / diffractionMtf(s));
}

/** Samples of the factor over s, 0 … 1. */
const tableSteps = 128;
let lastTable: { comaRmsWaves: number; factors: Float64Array } | null = null;

/**
 * comaMtf from a table, for many frequencies of one coma.
 *
 * Model    as comaMtf, straight between 129 samples; the table of the last coma is kept
 * Returns  within 0.01 of comaMtf (where the contrast bends at a zero), within 4e-4 up to 0.1 waves.
 * Throws   as comaMtf.
 * Cost     filling: 1 ms at 0.05 waves, 20 ms at 0.5; then some nanoseconds.
 * Checked  property: tests/optics/coma.test.ts
 */
export function comaMtfFast({
  normalisedFrequency,
  comaRmsWaves,
}: {
  normalisedFrequency: number;
  comaRmsWaves: number;
}): number {
  const s = requireNotNegative('normalisedFrequency', normalisedFrequency);
  if (comaRmsWaves === 0 || s >= 1) return 1;
  if (lastTable?.comaRmsWaves !== comaRmsWaves) {
    const factors = Float64Array.from({ length: tableSteps + 1 }, (_, i) =>
      comaMtf({ normalisedFrequency: Math.min(1 - 1e-6, i / tableSteps), comaRmsWaves }),
    );
    lastTable = { comaRmsWaves, factors };
  }
  const place = s * tableSteps;
  const low = Math.floor(place);
  const [a, b] = [lastTable.factors[low]!, lastTable.factors[low + 1]!];
  return a + (place - low) * (b - a);
}

/**
 * Coma of a lens whose membrane sags under its own fluid, by how the camera is held.
 *
 * Model    the fluid's pressure across the aperture grows with the part of gravity that lies in the plane of the lens
 * Formula  rms(horizontal axis) · |sin angle|
 * Returns  waves rms; 0 with the axis vertical.
 * Throws   RangeError if a value is not finite or the coma negative.
 * Trust    the change of focal power with orientation is not in it: measure it, or calibrate as mounted.
 * Source   physics of the hydrostatic difference; see docs/optics/colour-and-coma.md
 */
export function gravityComaRmsWaves({
  horizontalRmsWaves,
  axisFromVerticalDeg,
}: {
  horizontalRmsWaves: number;
  axisFromVerticalDeg: number;
}): number {
  requireNotNegative('horizontalRmsWaves', horizontalRmsWaves, 'waves');
  requireFinite('axisFromVerticalDeg', axisFromVerticalDeg, '°');
  return horizontalRmsWaves * Math.abs(Math.sin(radFromDeg(axisFromVerticalDeg)));
}
