import { requireNotNegative } from '../base/index.js';
import { aberratedOtf } from './aberrated-otf.js';
import type { ColourLine } from './axial-colour.js';
import { comaMtfFast } from './coma.js';
import { defocusOtf } from './defocus-otf.js';
import { defocusWavesFromImageShift } from './defocus-waves.js';
import { normalisedFrequency } from './diffraction.js';
import { motionMtf } from './motion-blur.js';
import { pixelMtf } from './pixel-aperture.js';
import { wavefrontErrorMtf } from './wavefront-error.js';

/** The stages that blur an image beside defocus. A stage at 0, the default, is left out. */
export interface BlurStages {
  /** Of the light's centre; defocus and aberrations are in waves of it. */
  wavelengthNm: number;
  /** The light's wavelengths, each with its own focus; without it the centre alone. See layoutSpectrum. */
  spectrum?: readonly ColourLine[];
  pixelPitchUm?: number;
  /** Smear on the sensor along the frequency's direction. */
  motionBlurUm?: number;
  /** Residual error of the parts, defocus and spherical aberration not counted. */
  wavefrontErrorRmsWaves?: number;
  /** Primary coma, rms with the tilt taken out; in its worst orientation. */
  comaRmsWaves?: number;
  /** Primary spherical aberration at the pupil's edge. */
  sphericalWaves?: number;
}

/** Where on the transfer function: frequency on the sensor, aperture and defocus. */
export interface SystemOtfPoint extends BlurStages {
  spatialFrequencyPerMm: number;
  workingFNumber: number;
  defocusWaves: number;
}

/**
 * Signed transfer function of optics, pixel and motion at a frequency on the sensor.
 *
 * Model    linear, shift-invariant stages; their transfer functions multiply
 * Formula  Σ w_i·OTF(s_i, W20_i, W040_i) · ATF(s) · coma(s) · sinc(ν·p) · sinc(ν·b), s = ν·λ·N; of a spectrum each
 *          wavelength has s_i = ν·λ_i·N and W20_i = (W20·λ + Δz_i/(8N²)) / λ_i
 * Returns  −1 … 1; negative = contrast reversal. Its modulus is the system MTF.
 * Throws   RangeError naming the field, if a value is not finite or out of its range.
 * Trust    wavefront error and coma are factors at the centre wavelength, exact in focus and for narrow light;
 *          sharpening, demosaicing and compression in the camera are not linear stages and not in it.
 * Source   SPIE Tutorial Text TT121, ch. 6 (cascade)
 * Checked  reference: three frequencies, tests/optics/system-mtf.test.ts
 */
export function systemOtf({
  spatialFrequencyPerMm,
  workingFNumber,
  defocusWaves,
  wavelengthNm,
  spectrum,
  pixelPitchUm = 0,
  motionBlurUm = 0,
  wavefrontErrorRmsWaves = 0,
  comaRmsWaves = 0,
  sphericalWaves = 0,
}: SystemOtfPoint): number {
  const s = normalisedFrequency({ spatialFrequencyPerMm, wavelengthNm, workingFNumber });
  let optics = 0;
  if (spectrum === undefined) optics = lensOtf(s, defocusWaves, sphericalWaves);
  else {
    for (const line of spectrum) {
      const scale = line.wavelengthNm / wavelengthNm;
      const shiftWaves = defocusWavesFromImageShift({ imageShiftMm: line.focusShiftMm, workingFNumber, wavelengthNm });
      optics += line.weight * lensOtf(s * scale, (defocusWaves + shiftWaves) / scale, sphericalWaves / scale);
    }
  }
  return (
    optics *
    wavefrontErrorMtf({ normalisedFrequency: s, wavefrontErrorRmsWaves }) *
    comaMtfFast({ normalisedFrequency: s, comaRmsWaves }) *
    pixelMtf({ spatialFrequencyPerMm, pixelPitchUm }) *
    motionMtf({ spatialFrequencyPerMm, motionBlurUm })
  );
}

function lensOtf(normalisedFrequency: number, defocusWaves: number, sphericalWaves: number): number {
  return sphericalWaves === 0
    ? defocusOtf({ normalisedFrequency, defocusWaves })
    : aberratedOtf({ normalisedFrequency, defocusWaves, sphericalWaves });
}

/** System MTF: the modulus of systemOtf. */
export function systemMtf(point: SystemOtfPoint): number {
  return Math.abs(systemOtf(point));
}

/**
 * Signed transfer function of an exposure during which the defocus changes, or of light of several focuses.
 *
 * Model    light adds: the mean of the signed transfer functions, not of their moduli
 * Formula  Σ w_i·OTF(W_i) / Σ w_i
 * Input    defocus in waves at moments (equal dwell), or with a weight each.
 * Throws   RangeError if there is no defocus, if weights differ in number, are negative or sum to 0.
 * Checked  degenerate: one defocus equals systemOtf
 */
export function averagedSystemOtf({
  defocusWaves,
  weights,
  ...point
}: Omit<SystemOtfPoint, 'defocusWaves'> & {
  defocusWaves: readonly number[];
  weights?: readonly number[];
}): number {
  if (defocusWaves.length === 0) throw new RangeError('defocusWaves is empty; allowed: at least one value');
  if (weights !== undefined && weights.length !== defocusWaves.length) {
    throw new RangeError(`weights has ${weights.length} values; allowed: ${defocusWaves.length}, one for each defocus`);
  }
  let sum = 0;
  let weightSum = 0;
  for (let i = 0; i < defocusWaves.length; i++) {
    const weight = weights === undefined ? 1 : requireNotNegative('weights', weights[i]!);
    sum += weight * systemOtf({ ...point, defocusWaves: defocusWaves[i]! });
    weightSum += weight;
  }
  if (weightSum === 0) throw new RangeError('weights sum to 0; allowed: at least one > 0');
  return sum / weightSum;
}
