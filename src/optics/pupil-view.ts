import { layoutMatrices } from './layout-matrices.js';
import type { LayoutModel } from './layout-model.js';
import { awayFromZero, limitingAperture } from './pupils.js';

/** The object space as the entrance pupil sees it: all that defocus at a distance needs. */
export interface PupilView {
  /** Diameter of the entrance pupil. */
  diameterMm: number;
  /** From the first optical plane forward to the entrance pupil; mostly negative (the pupil lies inside). */
  beforeFirstPlaneMm: number;
  /** 1 / (distance from the pupil to the sharp plane), per mm; 0 at infinity, negative beyond. */
  focusVergencePerMm: number;
  /** |magnification| × distance from the pupil: the same for every distance. */
  imageScaleMm: number;
  workingFNumber: number;
}

/**
 * The entrance pupil's view of the object space at one focal power.
 *
 * Model    as traceSystem. With s the matrix from the first plane to the limiting stop, n from there to the sensor:
 * Formula  1/s0 = −a·s.a / n.b;  |m|·s = |n.b / s.a| for objects at every distance s from the pupil
 * Throws   RangeError naming the field of a layout that cannot be built.
 * Checked  property: equals traceSystem, and |m| = scale / s at the sharp plane, tests/optics/pupil-view.test.ts
 */
export function pupilView({ model, focalPowerDpt }: { model: LayoutModel; focalPowerDpt: number }): PupilView {
  const matrices = layoutMatrices({ model, focalPowerDpt });
  const { stop } = limitingAperture(matrices);
  const { a, b } = stop.fromFirstPlane;
  const reduction = awayFromZero(a);
  return {
    diameterMm: (2 * stop.radiusMm) / Math.abs(reduction),
    beforeFirstPlaneMm: -b / reduction,
    focusVergencePerMm: (-matrices.total.a * reduction) / stop.toSensor.b,
    imageScaleMm: Math.abs(stop.toSensor.b / reduction),
    workingFNumber: Math.abs(stop.toSensor.b) / (2 * stop.radiusMm),
  };
}
