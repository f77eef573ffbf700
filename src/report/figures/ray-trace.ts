import { dptFromFocalLengthMm } from '../../base/index.js';
import {
  fixedLensFromGroups,
  gapMatrix,
  type LayoutModel,
  multiplyMatrices,
  type RayMatrix,
  sensorDistanceMm,
  thinLensMatrix,
  traceSystem,
  withFocalLength,
} from '../../optics/index.js';
import type { PlanePrediction } from '../../station/index.js';

/** A lens as the drawing shows it; z from the mechanical front, light travels to +z. */
export interface DrawnLens {
  zMm: number;
  /** Null: the tunable lens, whose power changes. */
  powerDpt: number | null;
  name: 'tunable lens' | 'fixed lens' | 'front group' | 'rear group';
}

/** A layout spread out along the axis. */
export interface DrawnLayout {
  lenses: DrawnLens[];
  sensorZMm: number;
}

/** Heights of one ray at the planes it passes. */
export type Ray = { zMm: number; heightMm: number }[];

/** The rays of one object distance. */
export interface DrawnRays {
  /** From the axis to the rim of the stop, up and down. */
  marginal: [Ray, Ray];
  /** From the edges of the field through the middle of the stop. */
  chief: [Ray, Ray];
}

/** An object distance with its rays; none where the lens does not reach it. */
export interface DrawnPlane {
  plane: PlanePrediction;
  rays: DrawnRays | null;
  /** Dash pattern that tells its rays from those of the other planes. */
  dash: string | undefined;
}

/**
 * Where lenses and sensor stand. Principal planes of the fixed lens are drawn together; a lens with its stop between two
 * groups is drawn as these groups.
 *
 * Throws   RangeError of a layout that cannot be built.
 */
export function drawnLayout(model: LayoutModel): DrawnLayout {
  const first = model.frontOffsetMm;
  const sensorMm = sensorDistanceMm(model);
  const fixedPowerDpt = dptFromFocalLengthMm(model.fixedLens.focalLengthMm);
  const { groups, fNumber, focalLengthMm } = model.fixedLens;
  if (model.tunableLensAt === 'at-stop' && groups) {
    const scaled = withFocalLength({ fixedLens: fixedLensFromGroups({ groups, fNumber }), focalLengthMm }).groups!;
    const front = dptFromFocalLengthMm(scaled.frontFocalLengthMm);
    const rear = dptFromFocalLengthMm(scaled.rearFocalLengthMm);
    const gap = gapMatrix({ gapMm: scaled.frontToStopMm + scaled.stopToRearMm });
    const { a, c, d } = multiplyMatrices(
      thinLensMatrix({ powerDpt: rear }),
      multiplyMatrices(gap, thinLensMatrix({ powerDpt: front })),
    );
    const frontZMm = first - (d - 1) / c;
    const stopZMm = frontZMm + scaled.frontToStopMm;
    const rearZMm = stopZMm + scaled.stopToRearMm;
    return {
      lenses: [
        { zMm: frontZMm, powerDpt: front, name: 'front group' },
        { zMm: stopZMm, powerDpt: null, name: 'tunable lens' },
        { zMm: rearZMm, powerDpt: rear, name: 'rear group' },
      ],
      sensorZMm: rearZMm + (1 - a) / c + sensorMm,
    };
  }
  const tunableZMm = model.tunableLensAt === 'object-side' ? first : first + model.gapMm;
  const fixedZMm = model.tunableLensAt === 'object-side' ? first + model.gapMm : first;
  const lenses: DrawnLens[] = [
    { zMm: tunableZMm, powerDpt: null, name: 'tunable lens' },
    { zMm: fixedZMm, powerDpt: fixedPowerDpt, name: 'fixed lens' },
  ];
  return { lenses: model.tunableLensAt === 'object-side' ? lenses : lenses.reverse(), sensorZMm: fixedZMm + sensorMm };
}

/**
 * Marginal and chief rays from one working distance to the sensor.
 *
 * Model    paraxial matrices; the rays aim at the entrance pupil of traceSystem
 * Input    the focal power in use, and half of the field at the object.
 * Throws   RangeError of a layout that cannot be built.
 * Checked  closed form: marginal rays meet the axis on the sensor, chief rays land at magnification × height
 */
export function rayFan({
  model,
  workingDistanceMm,
  focalPowerDpt,
  halfFieldMm,
}: {
  model: LayoutModel;
  workingDistanceMm: number;
  focalPowerDpt: number;
  halfFieldMm: number;
}): DrawnRays {
  const layout = drawnLayout(model);
  const { entrancePupil } = traceSystem({ model, focalPowerDpt });
  const toPupilMm = workingDistanceMm + entrancePupil.positionMm;
  const trace = (heightMm: number, pupilHeightMm: number): Ray =>
    traceRay({
      layout,
      focalPowerDpt,
      startZMm: -workingDistanceMm,
      heightMm,
      slope: (pupilHeightMm - heightMm) / toPupilMm,
    });
  const rim = entrancePupil.diameterMm / 2;
  return {
    marginal: [trace(0, rim), trace(0, -rim)],
    chief: [trace(halfFieldMm, 0), trace(-halfFieldMm, 0)],
  };
}

/** One ray through the lenses to the sensor. */
function traceRay({
  layout,
  focalPowerDpt,
  startZMm,
  heightMm,
  slope,
}: {
  layout: DrawnLayout;
  focalPowerDpt: number;
  startZMm: number;
  heightMm: number;
  slope: number;
}): Ray {
  const ray: Ray = [{ zMm: startZMm, heightMm }];
  let state = { zMm: startZMm, heightMm, slope };
  const apply = (matrix: RayMatrix, zMm: number) => {
    state = {
      zMm,
      heightMm: matrix.a * state.heightMm + matrix.b * state.slope,
      slope: matrix.c * state.heightMm + matrix.d * state.slope,
    };
  };
  for (const stop of [...layout.lenses, { zMm: layout.sensorZMm, powerDpt: 0 }]) {
    apply(gapMatrix({ gapMm: stop.zMm - state.zMm }), stop.zMm);
    ray.push({ zMm: state.zMm, heightMm: state.heightMm });
    apply(thinLensMatrix({ powerDpt: stop.powerDpt ?? focalPowerDpt }), stop.zMm);
  }
  return ray;
}
