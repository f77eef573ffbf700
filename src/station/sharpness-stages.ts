import {
  type BlurStages,
  type ColourLine,
  combinedWavefrontErrorRmsWaves,
  gravityComaRmsWaves,
  type LayoutModel,
  layoutSpectrum,
  motionBlurUm,
} from '../optics/index.js';
import type { Station } from './schema.js';

/** rms wavefront error of fixed and tunable lens together, in waves. */
export function wavefrontErrorRmsWavesOf({ parts }: Station): number {
  return combinedWavefrontErrorRmsWaves([
    parts.fixedLens.wavefrontErrorRmsWaves,
    parts.tunableLens.wavefrontErrorRmsWaves,
  ]);
}

/** Smear on the sensor by the task's speed during the station's exposure, in µm. */
export function taskMotionBlurUm({ station, magnification }: { station: Station; magnification: number }): number {
  return motionBlurUm({
    speedMmPerS: station.task.speedMmPerS,
    exposureUs: station.controls.exposureMs * 1000,
    magnification,
  });
}

/** What blurs beside defocus. `moving`: with the smear of the task's speed; a target at rest has none. */
export function blurStagesOf({
  station,
  magnification,
  moving,
}: {
  station: Station;
  magnification: number;
  moving: boolean;
}): BlurStages {
  return {
    wavelengthNm: station.parts.light.wavelengthNm,
    pixelPitchUm: station.parts.sensor.pixelPitchUm,
    wavefrontErrorRmsWaves: wavefrontErrorRmsWavesOf(station),
    ...(moving && { motionBlurUm: taskMotionBlurUm({ station, magnification }) }),
  };
}

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

/** Everything that blurs beside defocus: blurStagesOf with axial colour and coma by gravity. */
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
