import { FocuswrightError } from '../base/index.js';
import {
  powerLimitsOf,
  predictedFocalPowerDpt,
  predictedMagnification,
  predictedMtf,
  type Station,
  taskFrequencyPerPx,
} from '../station/index.js';

/**
 * How far the power may be off best focus until the contrast at the task's frequency falls below the task's threshold:
 * the half-width of the depth of field in dpt, as predicted. Steps and waits of the procedures are measured by it.
 *
 * Model    predictedMtf of a target at rest on either side of the predicted best focus; the nearer crossing
 * Returns  dpt > 0, at most half the lens's range. Where the threshold is not reached even in focus, half of the contrast
 *          in focus takes its place, so that steps stay meaningful.
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
  const bestDpt = requirePredictedPowerDpt({ station, workingDistanceMm });
  const magnification = predictedMagnification({ station, workingDistanceMm }) ?? 0;
  const frequenciesPerPx = [Math.min(0.5, taskFrequencyPerPx({ station, magnification }))];
  const contrastOff = (offDpt: number) =>
    Math.min(
      ...[bestDpt - offDpt, bestDpt + offDpt].map(
        (focalPowerDpt) =>
          predictedMtf({ station, workingDistanceMm, focalPowerDpt, frequenciesPerPx, moving: false })?.[0] ?? 0,
      ),
    );
  const inFocus = contrastOff(0);
  const threshold = station.task.contrastNeeded < inFocus ? station.task.contrastNeeded : inFocus / 2;
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const mostDpt = (powerMaxDpt - powerMinDpt) / 2;
  let inside = 0;
  let outside = mostDpt / 1000;
  while (contrastOff(outside) >= threshold) {
    if (outside >= mostDpt) return mostDpt;
    inside = outside;
    outside = Math.min(mostDpt, outside * 1.2);
  }
  for (let halving = 0; halving < 20; halving++) {
    const middle = (inside + outside) / 2;
    if (contrastOff(middle) >= threshold) inside = middle;
    else outside = middle;
  }
  return (inside + outside) / 2;
}

/** The predicted power for a distance; throws `layout-forms-no-image` where there is none. */
export function requirePredictedPowerDpt(at: { station: Station; workingDistanceMm: number }): number {
  const powerDpt = predictedFocalPowerDpt(at);
  if (powerDpt === null) {
    throw new FocuswrightError('layout-forms-no-image', { workingDistanceMm: at.workingDistanceMm });
  }
  return powerDpt;
}
