import { mmPerM } from '../../base/index.js';
import type { TargetStage } from '../../devices/index.js';
import type { Station } from '../../station/index.js';

/** Distances of a calibration that nobody chose. */
const defaultCount = 7;

/**
 * Where to put the target for a distance calibration.
 *
 * Model    a stage with fixed places: all of them; else the station's own list; else seven distances over the task's range,
 *          evenly spaced in vergence, so that each step asks the same change of focal power
 * Returns  increasing working distances in mm.
 */
export function targetDistancesMm(station: Station, stage: Pick<TargetStage, 'distancesMm'>): number[] {
  if (stage.distancesMm !== null) return [...stage.distancesMm];
  const { targetDistancesMm: chosen } = station.commissioning;
  if (chosen) return [...chosen];
  const near = mmPerM / station.task.nearMm;
  const far = mmPerM / station.task.farMm;
  return Array.from({ length: defaultCount }, (_, i) =>
    placeableMm(mmPerM / (near + ((far - near) * i) / (defaultCount - 1))),
  );
}

/** A computed distance as a stage can be set to, and as a table of frames can hold it: in hundredths of a millimetre. */
export const placeableMm = (distanceMm: number): number => Math.round(distanceMm * 100) / 100;

/** The distance of a list nearest to a wanted one, in vergence. */
export function nearestDistanceMm(distancesMm: readonly number[], wantedMm: number): number {
  const off = (mm: number) => Math.abs(1 / mm - 1 / wantedMm);
  return distancesMm.reduce((best, mm) => (off(mm) < off(best) ? mm : best));
}
