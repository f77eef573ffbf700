import {
  type LayoutModel,
  layoutHalves,
  type RayMatrix,
  sensorDistanceMm,
  withFocalLength,
} from '../../optics/index.js';
import { layoutModelOf, middleDistanceMm, type Station, taskPlanesOf } from '../../station/index.js';

/** A fixed and a tunable lens at one gap, before spacer, ring and f-number are chosen. */
export interface PairOptics {
  model: LayoutModel;
  /** From the first optical plane to the tunable lens. */
  before: RayMatrix;
  /** From the tunable lens to a sensor at distance 0 behind the fixed lens: a and b grow with it by c and d. */
  after: RayMatrix;
  /** The same with the fixed lens longer by its tolerance; null where it has none. */
  longer: { model: LayoutModel; before: RayMatrix; after: RayMatrix } | null;
  near: ObjectPlane;
  far: ObjectPlane;
  middle: ObjectPlane;
  /** The planes of the task. */
  planes: ObjectPlane[];
}

/** An object plane as it meets the tunable lens: height and slope there of the ray that leaves its axis with slope 1. */
export interface ObjectPlane {
  workingDistanceMm: number;
  /** From the first optical plane. */
  distanceMm: number;
  heightMm: number;
  /** Slope / height: the power that this distance adds to what the sensor's place asks for. */
  slopePerMm: number;
}

/**
 * What a pair of lenses at one gap does, as functions of the sensor's distance v behind the fixed lens.
 *
 * Model    with M the matrix behind the tunable lens, A = a + c·v and B = b + d·v: an object whose unit-slope ray comes to
 *          the tunable lens at height h with slope σ is sharp at P = A/B + σ/h, magnified by −B/h. Ring and spacer act
 *          through v alone, distances through h and σ alone
 * Checked  property: equal to focalPowerAt and traceSystem, tests/planning/search/bounds.test.ts
 */
export function pairOpticsOf({ station, model }: { station: Station; model: LayoutModel }): PairOptics {
  const own = halvesOf(model);
  const toleranceMm = station.parts.fixedLens.tolerance.focalLengthMm;
  const longerMm = model.fixedLens.focalLengthMm + toleranceMm;
  const longer =
    toleranceMm > 0
      ? halvesOf({ ...model, fixedLens: withFocalLength({ fixedLens: model.fixedLens, focalLengthMm: longerMm }) })
      : null;
  const planeAt = (workingDistanceMm: number) => objectPlane(own, workingDistanceMm);
  return {
    ...own,
    longer,
    near: planeAt(station.task.nearMm),
    far: planeAt(station.task.farMm),
    middle: planeAt(middleDistanceMm(station)),
    planes: taskPlanesOf(station).map(({ workingDistanceMm }) => planeAt(workingDistanceMm)),
  };
}

/** The layout of a pair at a gap, ring at infinity, the sensor far enough behind for every lens to find room. */
export function pairModel(station: Station, gapMm: number, tunableLensAt: LayoutModel['tunableLensAt']): LayoutModel {
  const model = layoutModelOf({
    ...station,
    layout: { ...station.layout, gapMm, tunableLensAt, ringDistanceMm: null },
  });
  return { ...model, spacerMm: 1000 + gapMm };
}

/** Where an object plane at a working distance meets the tunable lens. */
export function objectPlane(
  { model, before }: Pick<PairOptics, 'model' | 'before'>,
  workingDistanceMm: number,
): ObjectPlane {
  const distanceMm = workingDistanceMm + model.frontOffsetMm;
  const heightMm = before.a * distanceMm + before.b;
  return { workingDistanceMm, distanceMm, heightMm, slopePerMm: (before.c * distanceMm + before.d) / heightMm };
}

/** Power that the sensor's distance asks for, in 1/mm. */
export const sensorPowerPerMm = ({ a, b, c, d }: RayMatrix, sensorMm: number): number =>
  (a + c * sensorMm) / (b + d * sensorMm);

/** B: magnification is −B / height of the object plane. */
export const leverMm = ({ b, d }: RayMatrix, sensorMm: number): number => b + d * sensorMm;

function halvesOf(model: LayoutModel): Pick<PairOptics, 'model' | 'before' | 'after'> {
  const { beforeTunable, afterTunable } = layoutHalves(model);
  const sensorMm = sensorDistanceMm(model);
  const { a, b, c, d } = afterTunable;
  return { model, before: beforeTunable, after: { a: a - c * sensorMm, b: b - d * sensorMm, c, d } };
}
