import { dptFromFocalLengthMm, mmPerM, requireFinite, requireNotNegative, requirePositive } from '../base/index.js';
import type { FixedLensModel, LensGroups } from './layout-model.js';
import { gapMatrix, type RayMatrix, systemMatrix, thinLensMatrix } from './ray-matrix.js';

/** How far a declared focal length may be from the one that the groups give, as a fraction. */
const focalLengthTolerance = 0.01;
/** How far a declared pupil magnification may be from the one that the groups give, as a fraction. */
const pupilMagnificationTolerance = 0.05;

/** A fixed lens taken apart at its stop, in light order, from front to rear principal plane. */
export interface StopSplit {
  /** From the front principal plane to the stop. */
  toStop: RayMatrix;
  /** From the stop to the rear principal plane. */
  fromStop: RayMatrix;
}

/**
 * Splits a fixed lens at its stop, from its two groups.
 *
 * Model    two thin groups; scaled by at most 1 % so that the focal length is exactly the declared one.
 * Throws   RangeError if groups are missing, if their focal length is more than 1 % from `focalLengthMm`, or their
 *          pupil magnification more than 5 % from `pupilMagnification`; the message holds the computed value.
 * Checked  property: groups with a lens of 0 dpt equal the fixed lens, tests/optics/lens-groups.test.ts
 */
export function splitAtStop(fixedLens: FixedLensModel): StopSplit {
  const { groups, focalLengthMm, pupilMagnification } = fixedLens;
  if (groups === undefined) {
    throw new RangeError(
      'fixedLens.groups is missing; needed for a tunable lens at the stop: the groups on either side of it',
    );
  }
  const own = fixedLensFromGroups({ groups, fNumber: fixedLens.fNumber });
  requireAgreement('focalLengthMm', focalLengthMm, own.focalLengthMm, focalLengthTolerance, ' mm');
  requireAgreement('pupilMagnification', pupilMagnification, own.pupilMagnification, pupilMagnificationTolerance, '');
  const scaled = scaledGroups(groups, focalLengthMm / own.focalLengthMm);
  const { c, a, d } = groupsMatrix(scaled);
  const frontPlaneMm = (d - 1) / c;
  const rearPlaneMm = (1 - a) / c;
  return {
    toStop: systemMatrix([
      gapMatrix({ gapMm: -frontPlaneMm }),
      lens(scaled.frontFocalLengthMm),
      gapMatrix({ gapMm: scaled.frontToStopMm }),
    ]),
    fromStop: systemMatrix([
      gapMatrix({ gapMm: scaled.stopToRearMm }),
      lens(scaled.rearFocalLengthMm),
      gapMatrix({ gapMm: rearPlaneMm }),
    ]),
  };
}

/**
 * The fixed lens that two groups make.
 *
 * Formula  focal length −1/c of the groups' matrix; pupil magnification = ratio of the stop's images by rear and front
 * Throws   RangeError if the groups form no converging lens, or the stop lies in a group's focal plane (pupil at infinity).
 */
export function fixedLensFromGroups({ groups, fNumber }: { groups: LensGroups; fNumber: number }): FixedLensModel {
  requireGroups(groups);
  requirePositive('fNumber', fNumber);
  const { c } = groupsMatrix(groups);
  if (!(c < 0)) throw new RangeError(`fixedLens.groups have a power of ${rounded(-c * mmPerM)} dpt; allowed: > 0 dpt`);
  const frontReduction = 1 - groups.frontToStopMm / groups.frontFocalLengthMm;
  const rearReduction = 1 - groups.stopToRearMm / groups.rearFocalLengthMm;
  const pupilMagnification = Math.abs(frontReduction / rearReduction);
  if (!(pupilMagnification > 0 && Number.isFinite(pupilMagnification))) {
    throw new RangeError(
      'fixedLens.groups put the stop into the focal plane of a group; allowed: pupils at finite distance',
    );
  }
  return { focalLengthMm: -1 / c, fNumber, pupilMagnification, groups };
}

/**
 * The same lens design at another focal length: every length in proportion, f-number and pupils kept. For tolerances.
 *
 * Throws   RangeError if the focal length is not > 0.
 */
export function withFocalLength({
  fixedLens,
  focalLengthMm,
}: {
  fixedLens: FixedLensModel;
  focalLengthMm: number;
}): FixedLensModel {
  requirePositive('focalLengthMm', focalLengthMm, 'mm');
  const scale = focalLengthMm / fixedLens.focalLengthMm;
  const groups = fixedLens.groups && { groups: scaledGroups(fixedLens.groups, scale) };
  return { ...fixedLens, focalLengthMm, ...groups };
}

const lens = (focalLengthMm: number): RayMatrix => thinLensMatrix({ powerDpt: dptFromFocalLengthMm(focalLengthMm) });

function groupsMatrix(groups: LensGroups): RayMatrix {
  const gapMm = groups.frontToStopMm + groups.stopToRearMm;
  return systemMatrix([lens(groups.frontFocalLengthMm), gapMatrix({ gapMm }), lens(groups.rearFocalLengthMm)]);
}

function scaledGroups(groups: LensGroups, scale: number): LensGroups {
  return {
    frontFocalLengthMm: groups.frontFocalLengthMm * scale,
    frontToStopMm: groups.frontToStopMm * scale,
    stopToRearMm: groups.stopToRearMm * scale,
    rearFocalLengthMm: groups.rearFocalLengthMm * scale,
  };
}

function requireGroups(groups: LensGroups): void {
  for (const key of ['frontFocalLengthMm', 'rearFocalLengthMm'] as const) {
    requireFinite(`fixedLens.groups.${key}`, groups[key], 'mm');
    if (groups[key] === 0) throw new RangeError(`fixedLens.groups.${key} is 0 mm; allowed: not 0 mm`);
  }
  requireNotNegative('fixedLens.groups.frontToStopMm', groups.frontToStopMm, 'mm');
  requireNotNegative('fixedLens.groups.stopToRearMm', groups.stopToRearMm, 'mm');
}

/** For a message: agreement is asked to a hundredth. */
const rounded = (value: number): number => Number(value.toPrecision(5));

function requireAgreement(field: string, declared: number, computed: number, tolerance: number, unit: string): void {
  if (Math.abs(declared / computed - 1) <= tolerance) return;
  throw new RangeError(
    `fixedLens.${field} is ${rounded(declared)}${unit}, but fixedLens.groups give ${rounded(computed)}${unit}; allowed: within ${tolerance * 100} %`,
  );
}
