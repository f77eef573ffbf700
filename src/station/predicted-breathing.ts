import { mmFromUm } from '../base/index.js';
import { chiefRayMagnification } from '../optics/index.js';
import { layoutModelOf } from './layout-of-station.js';
import type { Station } from './schema.js';

/**
 * Size of a pixel on an object at rest, at a focal power that need not focus it.
 *
 * Model    chief ray through the limiting stop, as chiefRayMagnification; station as written
 * Returns  mm; changes with power though the object stays where it is: focus breathing
 * Throws   RangeError for a distance or power that is not finite, or an object at the entrance pupil.
 */
export function predictedPixelMm({
  station,
  workingDistanceMm,
  focalPowerDpt,
}: {
  station: Station;
  workingDistanceMm: number;
  focalPowerDpt: number;
}): number {
  const model = layoutModelOf(station);
  const magnification = chiefRayMagnification({ model, focalPowerDpt, workingDistanceMm });
  return mmFromUm(station.parts.sensor.pixelPitchUm) / Math.abs(magnification);
}
