import {
  type BlurStages,
  type ColourLine,
  gravityComaRmsWaves,
  type LayoutModel,
  layoutSpectrum,
} from '../optics/index.js';
import { blurStagesOf } from './predicted-mtf.js';
import type { Station } from './schema.js';

/** Angle taken where the station does not say how the camera hangs: the worst for coma by gravity. */
const assumedFromVerticalDeg = 90;

/** Primary coma by gravity as the camera is mounted, rms in waves; horizontal where the station does not say. */
export function gravityComaRmsWavesOf({ parts, layout }: Station): number {
  return gravityComaRmsWaves({
    horizontalRmsWaves: parts.tunableLens.gravityComaRmsWaves,
    axisFromVerticalDeg: layout.opticalAxisFromVerticalDeg ?? assumedFromVerticalDeg,
  });
}

/**
 * The light's wavelengths with their focuses; null where the station's lenses have no colour or the light no width, so
 * that the centre wavelength stands for all.
 */
export function spectrumOf({
  station,
  model,
  focalPowerDpt,
}: {
  station: Station;
  model: LayoutModel;
  focalPowerDpt: number;
}): ColourLine[] | null {
  const { light, fixedLens, tunableLens } = station.parts;
  const colourless = tunableLens.abbeNumber === undefined && fixedLens.axialColourUm === 0;
  if (light.bandwidthNm === 0 || colourless) return null;
  return layoutSpectrum({
    model,
    focalPowerDpt,
    wavelengthNm: light.wavelengthNm,
    bandwidthNm: light.bandwidthNm,
    abbeNumber: tunableLens.abbeNumber ?? null,
    axialColourUm: fixedLens.axialColourUm,
  });
}

/**
 * Everything that blurs beside defocus, as the plan judges it: blurStagesOf with axial colour and coma by gravity.
 *
 * Trust    the simulated station shows light of the centre wavelength without coma: with these keys a rehearsal is
 *          sharper than the plan.
 */
export function sharpnessStagesOf({
  station,
  model,
  focalPowerDpt,
  magnification,
  moving,
}: {
  station: Station;
  model: LayoutModel;
  focalPowerDpt: number;
  magnification: number;
  moving: boolean;
}): BlurStages {
  const spectrum = spectrumOf({ station, model, focalPowerDpt });
  const comaRmsWaves = gravityComaRmsWavesOf(station);
  return {
    ...blurStagesOf({ station, magnification, moving }),
    ...(spectrum && { spectrum }),
    ...(comaRmsWaves > 0 && { comaRmsWaves }),
  };
}
