import { mmFromNm, requireNotNegative, requireNumber, requirePositive, umFromNm } from '../base/index.js';
import { bracketedRoot } from './bracketed-root.js';
import { rayleighSeparation } from './two-points.js';

interface Diffraction {
  wavelengthNm: number;
  /** Working f-number, of the cone that reaches the sensor. */
  workingFNumber: number;
}

/**
 * Spatial frequency on the sensor above which incoherent light carries no contrast.
 *
 * Formula  ν_c = 1 / (λ·N)
 * Returns  line pairs per mm on the sensor.
 * Throws   RangeError if wavelength or f-number is not > 0.
 * Checked  reference: 550 nm, N 4 → 454.55
 */
export function diffractionCutoffPerMm({ wavelengthNm, workingFNumber }: Diffraction): number {
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  requirePositive('workingFNumber', workingFNumber);
  return 1 / (mmFromNm(wavelengthNm) * workingFNumber);
}

/**
 * Spatial frequency on the sensor in units of the diffraction cutoff.
 *
 * Formula  s = ν·λ·N
 * Throws   RangeError if the frequency is negative, wavelength or f-number not > 0.
 */
export function normalisedFrequency({
  spatialFrequencyPerMm,
  wavelengthNm,
  workingFNumber,
}: Diffraction & { spatialFrequencyPerMm: number }): number {
  requireNotNegative('spatialFrequencyPerMm', spatialFrequencyPerMm, 'lp/mm');
  return spatialFrequencyPerMm / diffractionCutoffPerMm({ wavelengthNm, workingFNumber });
}

/**
 * Radius of the first dark ring of a point's image.
 *
 * Formula  r = 1.21967·λ·N
 * Returns  µm on the sensor.
 * Throws   RangeError if wavelength or f-number is not > 0.
 * Source   OpenStax University Physics vol. 3, module m58548 (factor 1.22)
 * Checked  reference: 550 nm, N 4 → 2.6833 µm
 */
export function airyRadiusUm({ wavelengthNm, workingFNumber }: Diffraction): number {
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  requirePositive('workingFNumber', workingFNumber);
  return rayleighSeparation.circle * umFromNm(wavelengthNm) * workingFNumber;
}

/**
 * MTF of a perfect lens with a circular pupil, in focus.
 *
 * Formula  (2/π)·[acos s − s·√(1 − s²)]; 0 from s = 1 on
 * Throws   RangeError if the frequency is negative or not finite.
 * Source   Goodman, Introduction to Fourier Optics (from memory; derived again)
 * Checked  reference: 11 values, tests/optics/diffraction.test.ts
 */
export function diffractionMtf(normalisedFrequency: number): number {
  const s = requireNotNegative('normalisedFrequency', normalisedFrequency);
  return s >= 1 ? 0 : (2 / Math.PI) * (Math.acos(s) - s * Math.sqrt(1 - s * s));
}

/**
 * Normalised frequency at which the diffraction MTF has fallen to a contrast.
 *
 * Returns  0 … 1, to 1e-12.
 * Throws   RangeError if the contrast is outside 0 … 1.
 * Checked  reference: contrast 0.5 → 0.403973; property: inverse of diffractionMtf
 */
export function diffractionMtfInverse(contrast: number): number {
  requireNumber('contrast', contrast, { min: 0, max: 1 });
  if (contrast === 0) return 1;
  if (contrast === 1) return 0;
  return bracketedRoot({ of: (s) => diffractionMtf(s) - contrast, low: 0, high: 1, tolerance: 1e-13 });
}

/**
 * Contrast of bars (a square wave) under a given MTF, e.g. the diffraction MTF.
 *
 * Model    endless bars; three-bar targets have end effects
 * Formula  CTF(ν) = (4/π)·Σ (−1)^k · M((2k+1)·ν) / (2k+1), until the frequency passes the cutoff
 * Returns  peak-to-peak contrast at the bars' middle; the square wave itself counts as 1.
 * Throws   RangeError if the frequency is not > 0 or the cutoff not finite.
 * Trust    near the lowest frequencies many harmonics count: the contrast tends to 1 and may ripple above it.
 * Source   Coltman 1954 (from memory; derived again)
 * Checked  reference: 8 values, tests/optics/diffraction.test.ts
 */
export function squareWaveContrast({
  mtf,
  frequency,
  cutoff,
}: {
  /** MTF over frequency, in the unit of `frequency`. */
  mtf: (frequency: number) => number;
  frequency: number;
  /** Frequency from which the MTF is 0. */
  cutoff: number;
}): number {
  requirePositive('frequency', frequency);
  requirePositive('cutoff', cutoff);
  let sum = 0;
  for (let k = 0; (2 * k + 1) * frequency < cutoff; k++) {
    sum += ((k % 2 === 0 ? 1 : -1) * mtf((2 * k + 1) * frequency)) / (2 * k + 1);
  }
  return (4 / Math.PI) * sum;
}
