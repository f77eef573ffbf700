import { FocuswrightError, perMmFromPerPx } from '../base/index.js';
import { systemMtf, traceSystem } from '../optics/index.js';
import {
  focusHalfWidthDpt as halfWidthOf,
  layoutModelOf,
  predictedFocalPowerDpt,
  type Station,
  sharpnessStagesOf,
  taskFrequencyPerMm,
} from '../station/index.js';

/**
 * How far the power may be off best focus until the contrast at the task's frequency falls below the task's threshold:
 * the half-width of the depth of field in dpt, as predicted. Steps and waits of the procedures are measured by it.
 *
 * Model    the plan's focusHalfWidthDpt for a target at rest. Where the sensor cannot sample the task's frequency, its
 *          highest takes its place; where the threshold is not reached even in focus, half of the contrast in focus, so
 *          that steps stay meaningful
 * Returns  dpt > 0, at most the lens's range.
 * Throws   FocuswrightError `layout-forms-no-image` where no power focuses the distance.
 * Trust    a prediction: it sets how finely is looked, never where best focus is.
 */
export function focusHalfWidthDpt({
  station,
  workingDistanceMm,
}: {
  station: Station;
  workingDistanceMm: number;
}): number {
  const focalPowerDpt = requirePredictedPowerDpt({ station, workingDistanceMm });
  const model = layoutModelOf(station);
  const system = traceSystem({ model, focalPowerDpt });
  const magnification = Math.abs(system.magnification);
  const stages = sharpnessStagesOf({ station, model, focalPowerDpt, magnification, moving: false });
  const frequencyPerMm = Math.min(
    taskFrequencyPerMm({ station, magnification }),
    perMmFromPerPx({ frequencyPerPx: 0.5, pixelPitchUm: station.parts.sensor.pixelPitchUm }),
  );
  const at = { station, system, stages, frequencyPerMm };
  const inFocus = systemMtf({
    ...stages,
    spatialFrequencyPerMm: frequencyPerMm,
    workingFNumber: system.workingFNumber,
    defocusWaves: 0,
  });
  const { contrastNeeded } = station.task;
  return halfWidthOf({ ...at, contrastNeeded: contrastNeeded < inFocus ? contrastNeeded : inFocus / 2 })!;
}

/** The predicted power for a distance; throws `layout-forms-no-image` where there is none. */
export function requirePredictedPowerDpt(at: { station: Station; workingDistanceMm: number }): number {
  const powerDpt = predictedFocalPowerDpt(at);
  if (powerDpt === null) {
    throw new FocuswrightError('layout-forms-no-image', { workingDistanceMm: at.workingDistanceMm });
  }
  return powerDpt;
}
