import type { LayoutModel } from '../../optics/index.js';
import { layoutAsBuilt, type Station } from '../../station/index.js';
import { predictedLight } from '../plane-light.js';
import { actualPowersDpt, calibratedChangesDpt, sparePowerDpt } from './built-focus.js';
import { type BuiltModel, powerFor } from './built-model.js';
import { type BuiltOptics, builtOptics, builtPlaneAt, cornerLight } from './built-plane.js';
import type { DrawnStation } from './deviations.js';
import { wholeCount } from './requirements.js';

/** Standard deviations of one move within which a plane must stay sharp. */
const operatingSigmas = 2;

/** What one built station reaches. Arrays in the order of builtRequirements; NaN: it cannot be built or focused. */
export interface BuiltValues {
  now: Float64Array;
  afterCalibration: Float64Array;
  /** Power that light meets less power that the plane needs, at the worse of coldest and warmest; one a plane. */
  focusErrorDpt: Float64Array;
  focusErrorAfterDpt: Float64Array;
}

/**
 * What one drawn station reaches, before and after a distance calibration.
 *
 * Model    before: commanded as the layout as written asks. After: commanded as a calibration says that found best focus
 *          at its distances with `pointNoiseDpt`. A plane is as sharp as at the worse of coldest and warmest of the task,
 *          two standard deviations of repeatability, control step and hysteresis further out
 * Trust    light as at the exposure of the station file, which nobody adjusts.
 */
export function builtValues(of: BuiltModel, drawn: DrawnStation, pointNoiseDpt: ArrayLike<number>): BuiltValues {
  const { station, planes } = of;
  const values = emptyValues(planes.length);
  const model = layoutOf(station, drawn);
  if (model === null) return values;
  const neededDpt = planes.map(({ workingDistanceMm }) => powerFor(model, workingDistanceMm));
  const optics = builtOptics(station, model, drawn);
  const inFocus = inFocusValues(of, optics, drawn, neededDpt);
  if (inFocus === null) return values;
  values.now.set(inFocus);
  values.now[0] = sparePowerDpt(station, drawn, powerFor(model, station.task.nearMm), of.nearIsHigher);
  values.now[1] = sparePowerDpt(station, drawn, powerFor(model, station.task.farMm), !of.nearIsHigher);
  values.afterCalibration.set(values.now);
  const changesDpt = calibratedChangesDpt(of, drawn, model, pointNoiseDpt);
  for (let p = 0; p < planes.length; p++) {
    const before = asFocused(of, optics, drawn, { plane: p, neededDpt: neededDpt[p]!, changeDpt: 0 });
    const after = asFocused(of, optics, drawn, { plane: p, neededDpt: neededDpt[p]!, changeDpt: changesDpt[p]! });
    const place = wholeCount + 2 * p + 1;
    values.now[place] = before.contrast;
    values.afterCalibration[place] = after.contrast;
    values.focusErrorDpt[p] = before.errorDpt;
    values.focusErrorAfterDpt[p] = after.errorDpt;
  }
  return values;
}

function emptyValues(planeCount: number): BuiltValues {
  const unknown = (count: number) => new Float64Array(count).fill(Number.NaN);
  const count = wholeCount + 2 * planeCount;
  return {
    now: unknown(count),
    afterCalibration: unknown(count),
    focusErrorDpt: unknown(planeCount),
    focusErrorAfterDpt: unknown(planeCount),
  };
}

/** The layout as drawn; null where it cannot be built. */
function layoutOf(station: Station, { build }: DrawnStation): LayoutModel | null {
  if (!(build.powerGain > 0)) return null;
  try {
    const model = layoutAsBuilt(station, build);
    powerFor(model, station.task.nearMm);
    return model;
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/** The plane at a changed command, where its focus lies worst. */
function asFocused(
  of: BuiltModel,
  optics: BuiltOptics,
  drawn: DrawnStation,
  { plane, neededDpt, changeDpt }: { plane: number; neededDpt: number; changeDpt: number },
): { contrast: number; errorDpt: number } {
  const [coldDpt, warmDpt] = actualPowersDpt(of.station, drawn, of.commandsDpt[plane]! + changeDpt);
  const worstDpt = Math.abs(coldDpt - neededDpt) > Math.abs(warmDpt - neededDpt) ? coldDpt : warmDpt;
  const errorDpt = worstDpt - neededDpt;
  const focalPowerDpt = worstDpt + (errorDpt < 0 ? -1 : 1) * operatingSigmas * of.operatingStdDpt;
  const { workingDistanceMm } = of.planes[plane]!;
  const seen = builtPlaneAt(optics, { focalPowerDpt, workingDistanceMm });
  return { contrast: of.contrastRatio[plane]! * (seen?.contrast ?? 0), errorDpt };
}

/** Values that need no command, each plane at the power that focuses it; null where a plane has no such power. */
function inFocusValues(
  { station, planes, middleFNumber, contrastRatio, cornerRatio }: BuiltModel,
  optics: BuiltOptics,
  drawn: DrawnStation,
  neededDpt: readonly number[],
): Float64Array | null {
  const { sensor } = station.parts;
  const pitchMm = sensor.pixelPitchUm / 1000;
  const values = emptyValues(planes.length).now;
  let [largest, smallest, corner] = [0, Number.POSITIVE_INFINITY, 1];
  let [peakDn, signalToNoise, blurPx, cornerContrast] = [0, Number.POSITIVE_INFINITY, 0, 1];
  for (const [p, { workingDistanceMm }] of planes.entries()) {
    const focalPowerDpt = neededDpt[p]!;
    if (Number.isNaN(focalPowerDpt)) return null;
    const plane = builtPlaneAt(optics, { focalPowerDpt, workingDistanceMm });
    if (plane === null) return null;
    largest = Math.max(largest, plane.magnification);
    smallest = Math.min(smallest, plane.magnification);
    corner = Math.min(corner, cornerLight(optics, focalPowerDpt));
    const relativeIrradiance = drawn.irradianceRatio * (middleFNumber / plane.workingFNumber) ** 2;
    const light = predictedLight({ station, relativeIrradiance });
    peakDn = Math.max(peakDn, light.whitePeakDn);
    signalToNoise = Math.min(signalToNoise, light.signalToNoise);
    blurPx = Math.max(blurPx, plane.motionBlurPx);
    cornerContrast = Math.min(cornerContrast, cornerRatio[p]! * plane.contrast);
    values[wholeCount + 2 * p] = contrastRatio[p]! * plane.contrast;
  }
  values[2] = (sensor.widthPx * pitchMm) / largest;
  values[3] = (sensor.heightPx * pitchMm) / largest;
  values[4] = pitchMm / (2 * station.task.smallestFeatureMm * smallest);
  values[5] = corner;
  values[6] = peakDn;
  values[7] = signalToNoise;
  values[8] = blurPx;
  values[9] = cornerContrast;
  return values;
}
