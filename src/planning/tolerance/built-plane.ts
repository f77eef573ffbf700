import { mmPerM } from '../../base/index.js';
import {
  type BlurStages,
  combinedWavefrontErrorRmsWaves,
  defocusWavesFromPower,
  fieldIllumination,
  firstPlaneDistanceMm,
  type LayoutModel,
  motionBlurUm,
  normalisedFrequency,
  type PupilView,
  pupilView,
  systemOtf,
} from '../../optics/index.js';
import type { Station } from '../../station/index.js';
import type { DrawnStation } from './deviations.js';

/**
 * |W20|·s·(1 − s) between the first and the second zero of the defocused pupil's transfer function, whatever the
 * frequency: beyond it, what contrast there is is false.
 */
const beyondFirstZero = 0.2;

/** A plane as a built station images it at one power. */
export interface BuiltPlane {
  magnification: number;
  workingFNumber: number;
  motionBlurPx: number;
  /** MTF at the task frequency; 0 where contrast is reversed, and beyond. */
  contrast: number;
}

/** What is the same for every plane of a built station. */
export interface BuiltOptics {
  station: Station;
  model: LayoutModel;
  stages: BlurStages;
}

/** Optics of a built station: its layout, and its wavefront error. */
export function builtOptics(station: Station, model: LayoutModel, drawn: DrawnStation): BuiltOptics {
  const { fixedLens, tunableLens, light, sensor } = station.parts;
  return {
    station,
    model,
    stages: {
      wavelengthNm: light.wavelengthNm,
      pixelPitchUm: sensor.pixelPitchUm,
      wavefrontErrorRmsWaves: combinedWavefrontErrorRmsWaves([
        fixedLens.wavefrontErrorRmsWaves * drawn.fixedWavefrontRatio,
        tunableLens.wavefrontErrorRmsWaves * drawn.tunableWavefrontRatio,
      ]),
    },
  };
}

/**
 * A plane seen by a built station at a true focal power, in focus or out of it.
 *
 * Model    as planned-plane.ts in focus, seen from the entrance pupil, which holds out of focus too; centre wavelength
 * Returns  null where the plane lies at or behind the entrance pupil.
 */
export function builtPlaneAt(
  { station, model, stages }: BuiltOptics,
  { focalPowerDpt, workingDistanceMm }: { focalPowerDpt: number; workingDistanceMm: number },
): BuiltPlane | null {
  const view = pupilView({ model, focalPowerDpt });
  const fromPupilMm = firstPlaneDistanceMm(model, workingDistanceMm) - view.beforeFirstPlaneMm;
  if (!(fromPupilMm > 0)) return null;
  const { task, controls, parts } = station;
  const magnification = view.imageScaleMm / fromPupilMm;
  const blurUm = motionBlurUm({
    speedMmPerS: task.speedMmPerS,
    exposureUs: controls.exposureMs * 1000,
    magnification,
  });
  const frequencyPerMm = 1 / (2 * task.smallestFeatureMm * magnification);
  return {
    magnification,
    workingFNumber: view.workingFNumber,
    motionBlurPx: blurUm / parts.sensor.pixelPitchUm,
    contrast: contrastOf({ ...stages, motionBlurUm: blurUm }, frequencyPerMm, view, fromPupilMm),
  };
}

function contrastOf(stages: BlurStages, frequencyPerMm: number, view: PupilView, fromPupilMm: number): number {
  const { wavelengthNm } = stages;
  const { workingFNumber } = view;
  const powerChangeDpt = mmPerM * (1 / fromPupilMm - view.focusVergencePerMm);
  const defocusWaves = defocusWavesFromPower({ pupilDiameterMm: view.diameterMm, powerChangeDpt, wavelengthNm });
  const s = normalisedFrequency({ spatialFrequencyPerMm: frequencyPerMm, wavelengthNm, workingFNumber });
  if (s >= 1 || Math.abs(defocusWaves) * s * (1 - s) > beyondFirstZero) return 0;
  return Math.max(0, systemOtf({ ...stages, spatialFrequencyPerMm: frequencyPerMm, workingFNumber, defocusWaves }));
}

/** Light in the sensor's corner relative to its centre. */
export function cornerLight({ station, model }: BuiltOptics, focalPowerDpt: number): number {
  const { widthPx, heightPx, pixelPitchUm } = station.parts.sensor;
  const imageHeightMm = (Math.hypot(widthPx, heightPx) * pixelPitchUm) / 2000;
  return fieldIllumination({ model, focalPowerDpt, imageHeightMm }).relativeIllumination;
}
