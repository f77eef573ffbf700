import { requireFinite, requireNumber, requirePositive } from '../base/index.js';

/** Where the tunable lens sits. */
export type TunableLensPosition = 'object-side' | 'at-stop' | 'image-side';

/** The two groups of a fixed lens on either side of its stop, as thin lenses. */
export interface LensGroups {
  frontFocalLengthMm: number;
  frontToStopMm: number;
  stopToRearMm: number;
  rearFocalLengthMm: number;
}

/** A fixed lens between its principal planes. */
export interface FixedLensModel {
  focalLengthMm: number;
  /** Focal length / entrance pupil diameter, at infinity. */
  fNumber: number;
  /** Exit / entrance pupil diameter; fixes where both pupils lie. */
  pupilMagnification: number;
  /** Needed for a tunable lens at the stop, without effect elsewhere. */
  groups?: LensGroups;
}

/** Everything of a layout that paraxial optics needs. Lengths along the axis, in the direction of light. */
export interface LayoutModel {
  fixedLens: FixedLensModel;
  tunableLensAt: TunableLensPosition;
  /** Clear aperture diameter of the tunable lens. */
  clearApertureMm: number;
  /** object-side: tunable plane → front principal plane; image-side: rear principal plane → tunable plane; at-stop: 0. */
  gapMm: number;
  /** Distance the focus ring is set to, from the fixed lens's front principal plane; null = infinity. */
  ringDistanceMm: number | null;
  /** Extension between fixed lens and sensor; negative where the sensor sits too near. */
  spacerMm: number;
  /**
   * From the mechanical front of the foremost part back to the first optical plane of the layout (object-side: the
   * tunable plane; else the front principal plane); negative where that plane lies before the front.
   */
  frontOffsetMm: number;
}

/**
 * Throws RangeError, naming the field, for a layout that cannot be built. Every function that takes a layout checks it.
 *
 * Trust    says nothing about mechanical fit: parts may still touch.
 */
export function requireLayoutModel(model: LayoutModel): void {
  const { fixedLens, tunableLensAt, gapMm, ringDistanceMm } = model;
  requirePositive('fixedLens.focalLengthMm', fixedLens.focalLengthMm, 'mm');
  requirePositive('fixedLens.fNumber', fixedLens.fNumber);
  requirePositive('fixedLens.pupilMagnification', fixedLens.pupilMagnification);
  requirePositive('clearApertureMm', model.clearApertureMm, 'mm');
  requireFinite('gapMm', gapMm, 'mm');
  requireFinite('spacerMm', model.spacerMm, 'mm');
  requireFinite('frontOffsetMm', model.frontOffsetMm, 'mm');
  if (ringDistanceMm !== null) {
    requireNumber('ringDistanceMm', ringDistanceMm, { above: fixedLens.focalLengthMm, unit: 'mm' });
  }
  const sensorMm = sensorDistanceMm(model);
  if (sensorMm <= 0) {
    throw new RangeError(
      `spacerMm is ${model.spacerMm} mm; allowed: > ${rounded(model.spacerMm - sensorMm)} mm (sensor behind the lens)`,
    );
  }
  if (tunableLensAt === 'image-side' && gapMm >= sensorMm) {
    throw new RangeError(`gapMm is ${gapMm} mm; allowed: < ${rounded(sensorMm)} mm (tunable lens before the sensor)`);
  }
  if (tunableLensAt === 'at-stop' && gapMm !== 0) {
    throw new RangeError(
      `gapMm is ${gapMm} mm; allowed: 0 mm for a tunable lens at the stop (fixedLens.groups place it)`,
    );
  }
}

/** A bound for a message: nobody sets a length finer than to five digits. */
const rounded = (mm: number): number => Number(mm.toPrecision(5));

/**
 * From the fixed lens's rear principal plane to the sensor: where the fixed lens alone images an object at the ring
 * distance, plus the spacer.
 *
 * Formula  v = f·s/(s − f) + spacer; f + spacer at infinity
 */
export function sensorDistanceMm({ fixedLens, ringDistanceMm, spacerMm }: LayoutModel): number {
  const f = fixedLens.focalLengthMm;
  return (ringDistanceMm === null ? f : (f * ringDistanceMm) / (ringDistanceMm - f)) + spacerMm;
}
