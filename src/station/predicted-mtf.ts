import { perMmFromPerPx } from '../base/index.js';
import {
  type BlurStages,
  combinedWavefrontErrorRmsWaves,
  layoutDefocusWaves,
  motionBlurUm,
  systemMtf,
  traceSystem,
} from '../optics/index.js';
import { layoutModelOf } from './layout-of-station.js';
import { predictedFocalPowerDpt } from './predictions.js';
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

/**
 * MTF that the station as written should show on its axis.
 *
 * Model    systemMtf with the traced working f-number: diffraction with defocus, wavefront error of the parts, pixel,
 *          and (if `moving`) motion; light of the centre wavelength alone, axis only
 * Input    frequencies in cycles per pixel; `focalPowerDpt` null: the power that focuses the distance
 * Returns  one value per frequency, 0 … 1; `null` where no power focuses the distance.
 * Throws   RangeError for a distance or power that is not finite, or a negative frequency.
 * Trust    light of many wavelengths and field curvature lower it further; a camera's sharpening raises it.
 */
export function predictedMtf({
  station,
  workingDistanceMm,
  focalPowerDpt = null,
  frequenciesPerPx,
  moving,
}: {
  station: Station;
  workingDistanceMm: number;
  focalPowerDpt?: number | null;
  frequenciesPerPx: readonly number[];
  moving: boolean;
}): number[] | null {
  const model = layoutModelOf(station);
  const powerDpt = focalPowerDpt ?? predictedFocalPowerDpt({ station, workingDistanceMm });
  if (powerDpt === null) return null;
  const system = traceSystem({ model, focalPowerDpt: powerDpt });
  const stages = blurStagesOf({ station, magnification: system.magnification, moving });
  const defocusWaves =
    focalPowerDpt === null
      ? 0
      : layoutDefocusWaves({ model, focalPowerDpt, workingDistanceMm, wavelengthNm: stages.wavelengthNm });
  return frequenciesPerPx.map((frequencyPerPx) =>
    systemMtf({
      ...stages,
      spatialFrequencyPerMm: perMmFromPerPx({ frequencyPerPx, pixelPitchUm: station.parts.sensor.pixelPitchUm }),
      workingFNumber: system.workingFNumber,
      defocusWaves,
    }),
  );
}
