import { requireFinite, requireNotNegative } from '../base/index.js';

/**
 * Strehl ratio with defocus alone, exact.
 *
 * Formula  (sin(πW) / (πW))²
 * Returns  0 … 1; 0 at every whole wave, with weak peaks between.
 * Throws   RangeError if the defocus is not finite.
 * Source   Mahajan, J. Opt. Soc. Am. 72, 1258 (1982) (form from memory; derived again)
 * Checked  reference: six values, tests/optics/strehl.test.ts; property: volume under the OTF
 */
export function defocusStrehl(defocusWaves: number): number {
  const x = Math.PI * requireFinite('defocusWaves', defocusWaves, 'waves');
  return x === 0 ? 1 : (Math.sin(x) / x) ** 2;
}

/** Rms wavefront error of a defocus over the circular pupil: |W20|/√12, in waves. */
export function defocusRmsWaves(defocusWaves: number): number {
  return Math.abs(requireFinite('defocusWaves', defocusWaves, 'waves')) / Math.sqrt(12);
}

/**
 * Strehl ratio from the rms wavefront error, whatever its shape.
 *
 * Formula  exp(−(2πσ)²)
 * Throws   RangeError if the error is negative or not finite.
 * Trust    good to 0.01 up to 0.1 waves rms (Strehl 0.67); beyond, the shape of the wavefront counts.
 * Source   Mahajan, J. Opt. Soc. Am. 72, 1258 (1982)
 * Checked  reference: σ = 1/14 → 0.81757
 */
export function strehlFromRms(wavefrontErrorRmsWaves: number): number {
  return Math.exp(-phaseVariance(wavefrontErrorRmsWaves));
}

/**
 * Strehl ratio by Maréchal's form.
 *
 * Formula  (1 − (2πσ)²/2)²
 * Returns  null where (2πσ)² ≥ 2 and the form means nothing.
 * Throws   RangeError if the error is negative or not finite.
 * Trust    within 10 % while the Strehl ratio is above 0.6.
 * Source   bound: abstract of Mahajan, J. Opt. Soc. Am. 72, 1258 (1982)
 * Checked  reference: σ = 1/14 → 0.80872
 */
export function marechalStrehl(wavefrontErrorRmsWaves: number): number | null {
  const variance = phaseVariance(wavefrontErrorRmsWaves);
  return variance >= 2 ? null : (1 - variance / 2) ** 2;
}

function phaseVariance(wavefrontErrorRmsWaves: number): number {
  return (2 * Math.PI * requireNotNegative('wavefrontErrorRmsWaves', wavefrontErrorRmsWaves, 'waves')) ** 2;
}
