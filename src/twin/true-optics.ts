import { FocuswrightError } from '../base/index.js';
import { defocusWavesFromPower, firstPlaneDistanceMm, type LayoutModel, pupilView } from '../optics/index.js';
import { layoutAsBuilt, nominalBuild, type Station } from '../station/index.js';
import type { BuildErrors } from './build-errors.js';

/** How the target is drawn on the sensor at one true focal power. */
export interface OpticalState {
  /** Size on the sensor over size on the object, along the chief rays: holds in focus and out of focus. */
  magnification: number;
  /** W20, positive for a target nearer than the sharp plane. */
  defocusWaves: number;
  workingFNumber: number;
}

/** The layout as it was really built. */
export function trueLayout(station: Station, errors: BuildErrors): LayoutModel {
  const nominal = nominalBuild(station);
  return layoutAsBuilt(station, {
    ...nominal,
    ringDistanceRelative: errors.ringDistanceRatio - 1,
    spacerMm: nominal.spacerMm + errors.spacerMm,
    focalLengthMm: nominal.focalLengthMm + errors.focalLengthMm,
  });
}

/**
 * Scale, defocus and aperture of a target at a true focal power.
 *
 * Model    paraxial, seen from the entrance pupil: |m| = scale / s, W20 from the vergence error over the pupil
 * Throws   FocuswrightError `target-not-placeable` for a target at or behind the entrance pupil.
 * Checked  closed form: chief ray through matrices, tests/twin/true-optics.test.ts
 */
export function opticalStateAt({
  model,
  focalPowerDpt,
  workingDistanceMm,
  wavelengthNm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  workingDistanceMm: number;
  wavelengthNm: number;
}): OpticalState {
  const view = pupilView({ model, focalPowerDpt });
  const fromPupilMm = firstPlaneDistanceMm(model, workingDistanceMm) - view.beforeFirstPlaneMm;
  if (fromPupilMm <= 0) {
    throw new FocuswrightError('target-not-placeable', {
      workingDistance: `${workingDistanceMm} mm`,
      allowed: `beyond the entrance pupil, > ${workingDistanceMm - fromPupilMm} mm`,
    });
  }
  return {
    magnification: view.imageScaleMm / fromPupilMm,
    defocusWaves: defocusWavesFromPower({
      pupilDiameterMm: view.diameterMm,
      powerChangeDpt: 1000 * (1 / fromPupilMm - view.focusVergencePerMm),
      wavelengthNm,
    }),
    workingFNumber: view.workingFNumber,
  };
}
