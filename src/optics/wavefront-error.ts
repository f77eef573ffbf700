import { requireNotNegative } from '../base/index.js';

/** Wavefront error at which the approximation reaches zero contrast at half the cutoff, in waves rms. */
const fullLossWaves = 0.18;

/**
 * Loss of contrast from the residual wavefront error of real parts.
 *
 * Model    empirical mean over usual aberrations, defocus not counted (give that to defocusOtf)
 * Formula  ATF(s) = 1 − (W_rms / 0.18)² · [1 − 4·(s − 0.5)²], not below 0
 * Returns  factor on the MTF, 0 … 1; 1 from s = 1 on, where the diffraction MTF is 0 anyway.
 * Throws   RangeError if frequency or error is negative or not finite.
 * Trust    an approximation: good to some per cent up to about 0.1 waves rms, a guess beyond 0.15.
 * Source   Shannon, The Art and Science of Optical Design (1997) (from memory)
 * Checked  closed form: no error → 1; 0.09 waves at s 0.5 → 0.75
 */
export function wavefrontErrorMtf({
  normalisedFrequency,
  wavefrontErrorRmsWaves,
}: {
  normalisedFrequency: number;
  wavefrontErrorRmsWaves: number;
}): number {
  const s = requireNotNegative('normalisedFrequency', normalisedFrequency);
  requireNotNegative('wavefrontErrorRmsWaves', wavefrontErrorRmsWaves, 'waves');
  if (s >= 1) return 1;
  return Math.max(0, 1 - (wavefrontErrorRmsWaves / fullLossWaves) ** 2 * (1 - 4 * (s - 0.5) ** 2));
}

/** Root sum of squares of independent wavefront errors, e.g. fixed lens, tunable lens and gravity coma. */
export function combinedWavefrontErrorRmsWaves(wavefrontErrorsRmsWaves: readonly number[]): number {
  return Math.hypot(
    ...wavefrontErrorsRmsWaves.map((rms) => requireNotNegative('wavefrontErrorsRmsWaves', rms, 'waves')),
  );
}
