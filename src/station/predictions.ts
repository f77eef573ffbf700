import { mmFromUm, perPxFromPerMm } from '../base/index.js';
import { type FocusedDistance, focalPowerAt, traceSystem, workingDistanceAt } from '../optics/index.js';
import { layoutModelOf } from './layout-of-station.js';
import type { Station } from './schema.js';

/**
 * Focal power that the station as written focuses a working distance with; `null` where no power does.
 *
 * Model    paraxial layout without tolerances, lens at its reference temperature; see focalPowerAt
 * Returns  dpt, also outside the lens's limits: compare with powerLimitsOf.
 * Throws   RangeError for a distance that is not finite.
 */
export function predictedFocalPowerDpt({
  station,
  workingDistanceMm,
}: {
  station: Station;
  workingDistanceMm: number;
}): number | null {
  const found = focalPowerAt({ model: layoutModelOf(station), workingDistanceMm });
  return found.kind === 'power' ? found.focalPowerDpt : null;
}

/** What the station as written focuses at a focal power, whether the lens allows that power or not. */
export function predictedWorkingDistance({
  station,
  focalPowerDpt,
}: {
  station: Station;
  focalPowerDpt: number;
}): FocusedDistance {
  return workingDistanceAt({ model: layoutModelOf(station), focalPowerDpt });
}

/** Absolute lateral magnification when focused at a working distance; `null` where no power focuses it. */
export function predictedMagnification({
  station,
  workingDistanceMm,
}: {
  station: Station;
  workingDistanceMm: number;
}): number | null {
  const model = layoutModelOf(station);
  const found = focalPowerAt({ model, workingDistanceMm });
  if (found.kind === 'none') return null;
  return Math.abs(traceSystem({ model, focalPowerDpt: found.focalPowerDpt }).magnification);
}

/**
 * The task's frequency as it lies on the sensor: line and gap of the smallest feature make one period.
 *
 * Formula  1 / (2 · feature · |m|)
 */
export function taskFrequencyPerMm({ station, magnification }: { station: Station; magnification: number }): number {
  return 1 / (2 * station.task.smallestFeatureMm * Math.abs(magnification));
}

/** The task's frequency in cycles per pixel; above 0.5 the sensor cannot sample it. */
export function taskFrequencyPerPx({ station, magnification }: { station: Station; magnification: number }): number {
  return perPxFromPerMm({
    frequencyPerMm: taskFrequencyPerMm({ station, magnification }),
    pixelPitchUm: station.parts.sensor.pixelPitchUm,
  });
}

/** Width and height of the sensor's field on the object. */
export function fieldOfViewMm({ station, magnification }: { station: Station; magnification: number }): {
  fieldWidthMm: number;
  fieldHeightMm: number;
} {
  const { widthPx, heightPx, pixelPitchUm } = station.parts.sensor;
  const pixelOnObjectMm = mmFromUm(pixelPitchUm) / Math.abs(magnification);
  return { fieldWidthMm: widthPx * pixelOnObjectMm, fieldHeightMm: heightPx * pixelOnObjectMm };
}
