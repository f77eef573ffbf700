import { dptFromFocalLengthMm } from '../base/index.js';
import { type LayoutModel, requireLayoutModel, sensorDistanceMm } from './layout-model.js';
import { splitAtStop } from './lens-groups.js';
import { gapMatrix, identityMatrix, multiplyMatrices, type RayMatrix, thinLensMatrix } from './ray-matrix.js';

/** An aperture that can limit the light: its radius, and the matrix from the first optical plane to it. */
export interface Aperture {
  radiusMm: number;
  fromFirstPlane: RayMatrix;
  /** From the aperture to the sensor. */
  toSensor: RayMatrix;
}

/** The layout at one focal power, as matrices. */
export interface LayoutMatrices {
  /** From the first optical plane to the sensor. */
  total: RayMatrix;
  /** The fixed lens's stop, seen through the lens as its entrance pupil (at-stop: the stop itself). */
  fixedLensStop: Aperture;
  /** The clear aperture of the tunable lens. */
  tunableLensStop: Aperture;
}

/** The layout around its tunable lens: from the first optical plane to it, and from it to the sensor. */
export interface LayoutHalves {
  beforeTunable: RayMatrix;
  afterTunable: RayMatrix;
}

/**
 * Takes a layout apart at its tunable lens. The first optical plane is the tunable plane (object-side) or the fixed
 * lens's front principal plane; principal planes are drawn together, so positions behind the lens miss the distance
 * between them.
 *
 * Throws   RangeError naming the field of a layout that cannot be built.
 */
export function layoutHalves(model: LayoutModel): LayoutHalves {
  requireLayoutModel(model);
  const sensorMm = sensorDistanceMm(model);
  const fixed = thinLensMatrix({ powerDpt: dptFromFocalLengthMm(model.fixedLens.focalLengthMm) });
  const gap = gapMatrix({ gapMm: model.gapMm });
  switch (model.tunableLensAt) {
    case 'object-side':
      return {
        beforeTunable: identityMatrix,
        afterTunable: multiplyMatrices(gapMatrix({ gapMm: sensorMm }), multiplyMatrices(fixed, gap)),
      };
    case 'image-side':
      return {
        beforeTunable: multiplyMatrices(gap, fixed),
        afterTunable: gapMatrix({ gapMm: sensorMm - model.gapMm }),
      };
    case 'at-stop': {
      const { toStop, fromStop } = splitAtStop(model.fixedLens);
      return {
        beforeTunable: toStop,
        afterTunable: multiplyMatrices(gapMatrix({ gapMm: sensorMm }), fromStop),
      };
    }
  }
}

/**
 * All matrices of a layout with the tunable lens at one (actual) focal power.
 *
 * Model    thin tunable lens; fixed lens between principal planes; the fixed lens's entrance pupil lies
 *          f(1 − 1/P) before its front principal plane, where the lens images it with magnification P
 * Throws   RangeError naming the field of a layout that cannot be built, or a power that is not finite.
 * Checked  property: determinant 1 and pupil conjugation, tests/optics/layout-matrices.test.ts
 */
export function layoutMatrices({
  model,
  focalPowerDpt,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
}): LayoutMatrices {
  const { beforeTunable, afterTunable } = layoutHalves(model);
  const throughTunable = multiplyMatrices(thinLensMatrix({ powerDpt: focalPowerDpt }), beforeTunable);
  const total = multiplyMatrices(afterTunable, throughTunable);
  const toTunable = { fromFirstPlane: throughTunable, toSensor: afterTunable };
  const pupilBeforeLensMm = model.fixedLens.focalLengthMm * (1 - 1 / model.fixedLens.pupilMagnification);
  return {
    total,
    fixedLensStop: {
      radiusMm: fixedStopRadiusMm(model, beforeTunable),
      ...fixedLensStopPlace({ model, pupilBeforeLensMm, toTunable, total }),
    },
    tunableLensStop: { radiusMm: model.clearApertureMm / 2, ...toTunable },
  };
}

/** Where the fixed lens's stop lies: at its entrance pupil, seen between the lenses; at-stop: at the tunable lens. */
function fixedLensStopPlace({
  model,
  pupilBeforeLensMm,
  toTunable,
  total,
}: {
  model: LayoutModel;
  pupilBeforeLensMm: number;
  toTunable: Omit<Aperture, 'radiusMm'>;
  total: RayMatrix;
}): Omit<Aperture, 'radiusMm'> {
  switch (model.tunableLensAt) {
    case 'object-side': {
      const gapMm = model.gapMm - pupilBeforeLensMm;
      return {
        fromFirstPlane: multiplyMatrices(gapMatrix({ gapMm }), toTunable.fromFirstPlane),
        toSensor: multiplyMatrices(toTunable.toSensor, gapMatrix({ gapMm: -gapMm })),
      };
    }
    case 'image-side':
      return {
        fromFirstPlane: gapMatrix({ gapMm: -pupilBeforeLensMm }),
        toSensor: multiplyMatrices(total, gapMatrix({ gapMm: pupilBeforeLensMm })),
      };
    case 'at-stop':
      return toTunable;
  }
}

/** Radius of the fixed lens's entrance pupil, or (at-stop) of the stop whose image it is. */
function fixedStopRadiusMm({ fixedLens, tunableLensAt }: LayoutModel, beforeTunable: RayMatrix): number {
  const pupilRadiusMm = fixedLens.focalLengthMm / (2 * fixedLens.fNumber);
  return tunableLensAt === 'at-stop' ? pupilRadiusMm * Math.abs(beforeTunable.a) : pupilRadiusMm;
}
