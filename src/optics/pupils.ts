import { type Aperture, type LayoutMatrices, layoutMatrices } from './layout-matrices.js';
import type { LayoutModel } from './layout-model.js';
import { type FocusedDistance, focusOf } from './power-distance.js';

/** A pupil of the whole system. */
export interface Pupil {
  diameterMm: number;
  /**
   * Entrance pupil: from the mechanical front to the pupil, positive inside the optics. Exit pupil: from the pupil to
   * the sensor, positive before it.
   */
  positionMm: number;
}

/** What a ray trace tells of a layout at one focal power. */
export interface TracedSystem {
  focus: FocusedDistance;
  /** Signed: negative = inverted image; 0 when focused at infinity. */
  magnification: number;
  /** Null where the whole system has no power. */
  effectiveFocalLengthMm: number | null;
  limitingStop: 'fixed-lens' | 'tunable-lens';
  entrancePupil: Pupil;
  exitPupil: Pupil;
  /** Of the cone that reaches the sensor's centre. */
  workingFNumber: number;
  /** Of the cone that leaves the sharp object; 0 at infinity. */
  objectNumericalAperture: number;
  /** Diameter of the on-axis beam where it passes the tunable lens. */
  tunableBeamDiameterMm: number;
}

/** A telecentric pupil is put as far away as makes this ratio of its size to the stop's. */
const telecentricReduction = 1e-6;

/**
 * Focus, pupils, stop and aperture of a layout at one focal power.
 *
 * Model    paraxial marginal and chief ray through the limiting of two stops: the fixed lens's own, and the tunable
 *          lens's clear aperture. With n the matrix from a stop to the sensor and s the one from the first plane to it:
 * Formula  N_w = |n.b| / (2R), the largest of both stops limits;  entrance pupil R/|s.a| at −s.b/s.a before the first
 *          plane;  exit pupil R/|n.d| at n.b/n.d before the sensor;  NA = |m| / (2·N_w)
 * Returns  see TracedSystem; always finite. A pupil at infinity is put at a very large distance.
 * Throws   RangeError naming the field of a layout that cannot be built, or whose stops are both imaged on the sensor.
 * Trust    first order: real lenses have pupil aberration; a lens that changes its f-number by moving groups when it
 *          focuses is not described by principal planes that stay.
 * Source   docs/optics/pupils.md
 * Checked  closed form: N_w = N(1 + |m|/P) for the fixed lens alone; property: independent of power, object-side
 */
export function traceSystem({ model, focalPowerDpt }: { model: LayoutModel; focalPowerDpt: number }): TracedSystem {
  const matrices = layoutMatrices({ model, focalPowerDpt });
  const { stop, limitingStop } = limitingAperture(matrices);
  const focus = focusOf(matrices.total, model.frontOffsetMm);
  const { total, tunableLensStop } = matrices;
  const workingFNumber = workingFNumberOf(stop);
  const entranceReduction = awayFromZero(stop.fromFirstPlane.a);
  const exitReduction = awayFromZero(stop.toSensor.d);
  return {
    focus,
    magnification: focus.magnification,
    effectiveFocalLengthMm: total.c === 0 ? null : -1 / total.c,
    limitingStop,
    entrancePupil: {
      diameterMm: (2 * stop.radiusMm) / Math.abs(entranceReduction),
      positionMm: model.frontOffsetMm + stop.fromFirstPlane.b / entranceReduction,
    },
    exitPupil: {
      diameterMm: (2 * stop.radiusMm) / Math.abs(exitReduction),
      positionMm: stop.toSensor.b / exitReduction,
    },
    workingFNumber,
    objectNumericalAperture: Math.abs(focus.magnification) / (2 * workingFNumber),
    tunableBeamDiameterMm: Math.abs(tunableLensStop.toSensor.b) / workingFNumber,
  };
}

/** The stop that lets the narrower cone reach the centre of the sensor. */
export function limitingAperture({ fixedLensStop, tunableLensStop }: LayoutMatrices): {
  stop: Aperture;
  other: Aperture;
  limitingStop: TracedSystem['limitingStop'];
} {
  const fixedLimits = workingFNumberOf(fixedLensStop) >= workingFNumberOf(tunableLensStop);
  const stop = fixedLimits ? fixedLensStop : tunableLensStop;
  if (!(workingFNumberOf(stop) > 0)) {
    throw new RangeError(
      'the layout images its stops on the sensor; allowed: a stop away from every image of the object',
    );
  }
  return {
    stop,
    other: fixedLimits ? tunableLensStop : fixedLensStop,
    limitingStop: fixedLimits ? 'fixed-lens' : 'tunable-lens',
  };
}

function workingFNumberOf({ toSensor, radiusMm }: Aperture): number {
  return Math.abs(toSensor.b) / (2 * radiusMm);
}

/** A reduction held off zero, so that a telecentric pupil stays at a finite distance. */
export function awayFromZero(value: number): number {
  return Math.abs(value) >= telecentricReduction ? value : value < 0 ? -telecentricReduction : telecentricReduction;
}
