import {
  type BlurStages,
  comaMtfFast,
  diffractionMtf,
  motionMtf,
  normalisedFrequency,
  pixelMtf,
  systemOtf,
  wavefrontErrorMtf,
} from '../optics/index.js';
import type { PlanePrediction } from '../station/index.js';

/**
 * MTF in focus at one frequency on the sensor, and its parts.
 *
 * Model    systemMtf without defocus, taken apart; `colour` is what the light's width costs beside the diffraction at
 *          its wavelengths
 * Formula  |diffraction · colour · coma · wavefront error · pixel · motion|
 * Returns  0 … 1 each; a stage beyond its zero keeps its modulus.
 * Checked  property: equals systemMtf, and predictedMtf on the axis, tests/planning/mtf-parts.test.ts
 */
export function mtfPartsOf({
  frequencyPerMm,
  workingFNumber,
  stages,
}: {
  frequencyPerMm: number;
  workingFNumber: number;
  stages: BlurStages;
}): { parts: PlanePrediction['mtfParts']; mtfAtTask: number } {
  const { wavelengthNm, spectrum, pixelPitchUm = 0, motionBlurUm = 0 } = stages;
  const { wavefrontErrorRmsWaves = 0, comaRmsWaves = 0 } = stages;
  const sAt = (nm: number) =>
    normalisedFrequency({ spatialFrequencyPerMm: frequencyPerMm, wavelengthNm: nm, workingFNumber });
  const s = sAt(wavelengthNm);
  const diffraction = spectrum
    ? spectrum.reduce((sum, line) => sum + line.weight * diffractionMtf(sAt(line.wavelengthNm)), 0)
    : diffractionMtf(s);
  const parts = {
    diffraction,
    colour: spectrum && diffraction > 0 ? Math.abs(opticsOf(spectrum) / diffraction) : 1,
    coma: comaMtfFast({ normalisedFrequency: s, comaRmsWaves }),
    wavefrontError: wavefrontErrorMtf({ normalisedFrequency: s, wavefrontErrorRmsWaves }),
    pixel: Math.abs(pixelMtf({ spatialFrequencyPerMm: frequencyPerMm, pixelPitchUm })),
    motion: Math.abs(motionMtf({ spatialFrequencyPerMm: frequencyPerMm, motionBlurUm })),
  };
  return { parts, mtfAtTask: Object.values(parts).reduce((product, part) => product * part, 1) };

  function opticsOf(lines: NonNullable<BlurStages['spectrum']>): number {
    return systemOtf({
      spatialFrequencyPerMm: frequencyPerMm,
      workingFNumber,
      defocusWaves: 0,
      wavelengthNm,
      spectrum: lines,
    });
  }
}
