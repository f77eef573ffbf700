import { layoutMatrices } from './layout-matrices.js';
import type { LayoutModel } from './layout-model.js';
import { firstPlaneDistanceMm, focalPowerAt } from './power-distance.js';
import { limitingAperture } from './pupils.js';

/** How large an object at a fixed distance is imaged while the focal power is off. */
export interface Breathing {
  /** Signed size ratio at the sensor, measured between the centres of blurred points. */
  magnification: number;
  /** `magnification` relative to the same object's when sharp; 1 when in focus, null where no power focuses it. */
  relativeToSharp: number | null;
}

/**
 * Size ratio of an object at a fixed distance against focal power (focus breathing).
 *
 * Model    chief ray through the centre of the limiting stop: where the centre of a blurred point falls
 * Formula  m = −n.b / (s.a·x + s.b), x from the first optical plane, s to the stop and n from it to the sensor
 * Returns  see Breathing; equals the paraxial magnification in focus.
 * Throws   RangeError naming the field of a layout that cannot be built, or an object at the entrance pupil.
 * Trust    with strong aberration, coma above all, the centroid of the blur leaves the chief ray.
 * Source   docs/optics/power-distance.md
 * Checked  property: in focus equal to workingDistanceAt's magnification, tests/optics/breathing.test.ts
 */
export function breathingAt({
  model,
  focalPowerDpt,
  workingDistanceMm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  workingDistanceMm: number;
}): Breathing {
  const magnification = chiefRayMagnification({ model, focalPowerDpt, workingDistanceMm });
  const sharp = focalPowerAt({ model, workingDistanceMm });
  if (sharp.kind === 'none') return { magnification, relativeToSharp: null };
  const magnificationSharp = chiefRayMagnification({ model, focalPowerDpt: sharp.focalPowerDpt, workingDistanceMm });
  return { magnification, relativeToSharp: magnification / magnificationSharp };
}

/** The signed size ratio alone; see breathingAt. */
export function chiefRayMagnification({
  model,
  focalPowerDpt,
  workingDistanceMm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  workingDistanceMm: number;
}): number {
  const { stop } = limitingAperture(layoutMatrices({ model, focalPowerDpt }));
  const { a, b } = stop.fromFirstPlane;
  const reduction = a * firstPlaneDistanceMm(model, workingDistanceMm) + b;
  if (reduction === 0) {
    throw new RangeError(`workingDistanceMm is ${workingDistanceMm} mm; allowed: not the place of the entrance pupil`);
  }
  return -stop.toSensor.b / reduction;
}
