import { mmPerM, requireFinite } from '../base/index.js';
import { layoutHalves } from './layout-matrices.js';
import type { LayoutModel } from './layout-model.js';
import { multiplyMatrices, type RayMatrix, thinLensMatrix } from './ray-matrix.js';

/** What a focal power focuses. `magnification` is signed: negative = inverted image. */
export type FocusedDistance =
  /** A real object before the mechanical front is sharp. */
  | { kind: 'real'; workingDistanceMm: number; magnification: number }
  /** Sharp only for light that arrives parallel (vergence 0) or converging (> 0), so for no real object. */
  | { kind: 'beyond-infinity'; arrivingVergenceDpt: number; magnification: number }
  /** The sharp plane lies at or behind the mechanical front; `workingDistanceMm` ≤ 0. */
  | { kind: 'behind-front'; workingDistanceMm: number; magnification: number };

/** A focal power for a distance, or why there is none. */
export type FocalPowerForDistance = { kind: 'power'; focalPowerDpt: number } | { kind: 'none'; reason: string };

/** Objects farther than this (a million km) count as at infinity: beyond it rounding decides the sign. */
const infinityMm = 1e12;

/**
 * Which working distance is sharp at a focal power.
 *
 * Model    paraxial; M(P) from the first optical plane to the sensor, object x before that plane
 * Formula  sharp where a·x + b = 0, so x = −b/a;  magnification = a;  working distance = x − frontOffset
 * Input    the actual power of the lens; from a command by focalPowerActualDpt.
 * Returns  a union: `real`, or where no real object before the front is sharp `beyond-infinity` / `behind-front`.
 * Throws   RangeError naming the field of a layout that cannot be built, or a power that is not finite.
 * Trust    first order only: field curvature and spherical focus shift move the sharpest plane by their own depth.
 *          Knows no power limits of the lens.
 * Source   docs/optics/power-distance.md
 * Checked  reference: 10 mm before f 16 mm, 1 dpt → 341.2385 mm, magnification −0.047438; property: round trip
 */
export function workingDistanceAt({
  model,
  focalPowerDpt,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
}): FocusedDistance {
  return focusOf(matrixToSensor(model, focalPowerDpt), model.frontOffsetMm);
}

/** What the matrix from the first optical plane to the sensor focuses. */
export function focusOf({ a, b }: RayMatrix, frontOffsetMm: number): FocusedDistance {
  if (Math.abs(b) >= infinityMm * Math.abs(a))
    return { kind: 'beyond-infinity', arrivingVergenceDpt: 0, magnification: 0 };
  const distanceMm = -b / a;
  const workingDistanceMm = distanceMm - frontOffsetMm;
  if (a > 0 && b > 0) return { kind: 'beyond-infinity', arrivingVergenceDpt: (mmPerM * a) / b, magnification: a };
  if (workingDistanceMm <= 0) return { kind: 'behind-front', workingDistanceMm, magnification: a };
  return { kind: 'real', workingDistanceMm, magnification: a };
}

/**
 * Which focal power makes a working distance sharp.
 *
 * Model    paraxial; the elements of M(P) are linear in P: a = a0 + a1·P, b = b0 + b1·P
 * Formula  P = −(a0·x + b0) / (a1·x + b1);  at infinity P = −a0/a1
 * Input    working distance from the mechanical front; null = infinity. A negative one is computed too.
 * Returns  the actual power of the lens (its command by focalPowerCommandDpt), or `none` where the lens sits at an
 *          image of the object, so that its power moves nothing.
 * Throws   RangeError naming the field of a layout that cannot be built, or a distance that is not finite.
 * Trust    as workingDistanceAt.
 * Source   docs/optics/power-distance.md
 * Checked  property: inverse of workingDistanceAt in all three layouts, tests/optics/power-distance.test.ts
 */
export function focalPowerAt({
  model,
  workingDistanceMm,
}: {
  model: LayoutModel;
  workingDistanceMm: number | null;
}): FocalPowerForDistance {
  const { beforeTunable: before, afterTunable: after } = layoutHalves(model);
  const distanceMm = workingDistanceMm === null ? null : firstPlaneDistanceMm(model, workingDistanceMm);
  const heightAtLens = distanceMm === null ? before.a : before.a * distanceMm + before.b;
  const slopeAtLens = distanceMm === null ? before.c : before.c * distanceMm + before.d;
  const leverage = after.b * heightAtLens;
  const focalPowerDpt = (mmPerM * (after.a * heightAtLens + after.b * slopeAtLens)) / leverage;
  if (leverage === 0 || !Number.isFinite(focalPowerDpt)) {
    return { kind: 'none', reason: 'the tunable lens sits at an image of the object, so its power moves no focus' };
  }
  return { kind: 'power', focalPowerDpt };
}

/** Distance from the first optical plane of an object at a working distance. */
export function firstPlaneDistanceMm(model: LayoutModel, workingDistanceMm: number): number {
  return requireFinite('workingDistanceMm', workingDistanceMm, 'mm') + model.frontOffsetMm;
}

function matrixToSensor(model: LayoutModel, focalPowerDpt: number): RayMatrix {
  const { beforeTunable, afterTunable } = layoutHalves(model);
  const lens = thinLensMatrix({ powerDpt: focalPowerDpt });
  return multiplyMatrices(afterTunable, multiplyMatrices(lens, beforeTunable));
}
