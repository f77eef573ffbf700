import { requireFinite } from '../base/index.js';
import { comaMtfFast } from './coma.js';
import { defocusWavesFromImageShift } from './defocus-waves.js';
import { normalisedFrequency } from './diffraction.js';
import { motionMtf } from './motion-blur.js';
import { pixelMtf } from './pixel-aperture.js';
import { type PupilDisc, pupilShapeOtf } from './pupil-shape-otf.js';
import { type BlurStages, type SystemOtfPoint, systemMtf } from './system-mtf.js';
import { circleOverlapArea, type FieldPupil } from './vignetting.js';
import { wavefrontErrorMtf } from './wavefront-error.js';

/** How the lines of a pattern lie in the field: across the radius from the axis, or along it. */
export type LineDirection = 'tangential' | 'sagittal';

/** Where off the axis, and what blurs there. */
export interface FieldMtfPoint extends Omit<BlurStages, 'sphericalWaves'> {
  pupil: FieldPupil;
  lines: LineDirection;
  spatialFrequencyPerMm: number;
  /** As of the cone on the axis. */
  defocusWaves: number;
}

/**
 * System MTF at an image point off the axis, in focus or out of it.
 *
 * Model    the pupil as the point sees it: cut by the second stop, foreshortened by the slope of the chief ray; flat
 *          field. Light, coma, wavefront error, pixel and motion as in systemOtf
 * Formula  pupilShapeOtf with s = ν·λ·N / cos³ θ and W20·cos³ θ for tangential lines, ν·λ·N / cos θ and W20·cos θ for
 *          sagittal ones
 * Returns  0 … 1; 0 where the pupil is dark.
 * Throws   RangeError naming the field, if a value is not finite or out of its range.
 * Trust    an upper bound: field curvature, astigmatism and lateral colour of the real lens are in no datasheet and are
 *          left out, and often cost more than all that is here. Wavefront error is taken as on the axis.
 * Source   docs/optics/colour-and-coma.md
 * Checked  degenerate: on the axis equals systemMtf; reference: numpy FFT of random layouts, tests/optics
 */
export function fieldMtf({
  pupil,
  lines,
  spatialFrequencyPerMm,
  defocusWaves,
  wavelengthNm,
  spectrum,
  pixelPitchUm = 0,
  motionBlurUm = 0,
  wavefrontErrorRmsWaves = 0,
  comaRmsWaves = 0,
}: FieldMtfPoint): number {
  requireFinite('defocusWaves', defocusWaves, 'waves');
  const cosine = 1 / Math.hypot(1, pupil.chiefSlope);
  const shrink = lines === 'tangential' ? cosine ** 3 : cosine;
  const discs = discsOf(pupil, lines);
  if (discs === 'dark') return 0;
  const fNumber = pupil.workingFNumber / shrink;
  if (discs === 'full') {
    const point: SystemOtfPoint = {
      spatialFrequencyPerMm,
      workingFNumber: fNumber,
      defocusWaves: defocusWaves * shrink,
      wavelengthNm,
      pixelPitchUm,
      motionBlurUm,
      wavefrontErrorRmsWaves,
      comaRmsWaves,
    };
    if (spectrum) {
      point.spectrum = spectrum.map((line) => ({ ...line, focusShiftMm: line.focusShiftMm / shrink }));
    }
    return systemMtf(point);
  }
  const s = normalisedFrequency({ spatialFrequencyPerMm, wavelengthNm, workingFNumber: fNumber });
  let real = 0;
  let imaginary = 0;
  for (const line of spectrum ?? [{ wavelengthNm, weight: 1, focusShiftMm: 0 }]) {
    const scale = line.wavelengthNm / wavelengthNm;
    const shiftWaves = defocusWavesFromImageShift({
      imageShiftMm: line.focusShiftMm,
      workingFNumber: pupil.workingFNumber,
      wavelengthNm,
    });
    const otf = pupilShapeOtf({
      normalisedFrequency: s * scale,
      discs,
      defocusWaves: ((defocusWaves + shiftWaves) * shrink) / scale,
    });
    real += line.weight * otf.real;
    imaginary += line.weight * otf.imaginary;
  }
  return (
    Math.hypot(real, imaginary) *
    wavefrontErrorMtf({ normalisedFrequency: s, wavefrontErrorRmsWaves }) *
    comaMtfFast({ normalisedFrequency: s, comaRmsWaves }) *
    Math.abs(pixelMtf({ spatialFrequencyPerMm, pixelPitchUm })) *
    Math.abs(motionMtf({ spatialFrequencyPerMm, motionBlurUm }))
  );
}

/** The pupil's circles with x along the frequency; `full` where the second stop cuts nothing, `dark` where all. */
function discsOf({ otherStop }: FieldPupil, lines: LineDirection): [PupilDisc, PupilDisc] | 'full' | 'dark' {
  if (otherStop === null) return 'full';
  const { radiusRatio, offsetRatio } = otherStop;
  if (Math.abs(offsetRatio) + 1 <= radiusRatio) return 'full';
  if (!(circleOverlapArea(1, radiusRatio, offsetRatio) > 0)) return 'dark';
  const [centreX, centreY] = lines === 'tangential' ? [offsetRatio, 0] : [0, offsetRatio];
  return [
    { centreX: 0, centreY: 0, radius: 1 },
    { centreX, centreY, radius: radiusRatio },
  ];
}
