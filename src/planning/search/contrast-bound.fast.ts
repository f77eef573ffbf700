/** Wavefront error at which Shannon's factor reaches zero contrast at half the cutoff, in waves rms; see wavefrontErrorMtf. */
const fullLossWaves = 0.18;

/** The stages of the contrast in focus, ready to be asked millions of times. */
export interface ContrastStages {
  wavelengthMm: number;
  pixelPitchMm: number;
  wavefrontErrorRmsWaves: number;
  /** The light's wavelengths have focuses of their own: the other values then are those of the sharpest. */
  coloured: boolean;
}

/**
 * Contrast in focus of light of one wavelength: what mtfPartsOf gives without colour and coma, unchecked.
 *
 * Formula  diffraction · wavefront error · pixel · motion
 * Input    finite numbers ≥ 0, the working f-number > 0
 * Cost     some 50 ns
 * Checked  property: equal to mtfPartsOf, tests/planning/search/bounds.test.ts
 */
export function contrastBound(
  { wavelengthMm, pixelPitchMm, wavefrontErrorRmsWaves }: Omit<ContrastStages, 'coloured'>,
  frequencyPerMm: number,
  workingFNumber: number,
  smearMm: number,
): number {
  const s = frequencyPerMm * wavelengthMm * workingFNumber;
  if (s >= 1) return 0;
  const diffraction = (2 / Math.PI) * (Math.acos(s) - s * Math.sqrt(1 - s * s));
  const loss = wavefrontErrorRmsWaves / fullLossWaves;
  const wavefront = Math.max(0, 1 - loss * loss * (1 - 4 * (s - 0.5) * (s - 0.5)));
  return diffraction * wavefront * box(frequencyPerMm * pixelPitchMm) * box(frequencyPerMm * smearMm);
}

/** |sinc| of a uniform blur as wide as so many periods. */
function box(periods: number): number {
  const x = Math.PI * periods;
  return x < 1e-8 ? 1 : Math.abs(Math.sin(x) / x);
}
