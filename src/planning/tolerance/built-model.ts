import { focalPowerAt, type LayoutModel } from '../../optics/index.js';
import {
  layoutModelOf,
  middleFNumberOf,
  type PlanePrediction,
  type Station,
  type TaskPlane,
} from '../../station/index.js';
import { builtOptics, builtPlaneAt } from './built-plane.js';
import { type CalibrationGain, calibrationGain } from './calibration-gain.js';
import { asWritten } from './deviations.js';

/** Everything about the station as written that each built one is computed from. */
export interface BuiltModel {
  station: Station;
  planes: readonly TaskPlane[];
  calibration: CalibrationGain;
  /** Commands as written, at the planes and at the calibration's distances. */
  commandsDpt: readonly number[];
  calibrationCommandsDpt: readonly number[];
  /** Working f-number where the light was stated. */
  middleFNumber: number;
  nearIsHigher: boolean;
  /** Repeatability, control step and hysteresis of one move, 1σ. */
  operatingStdDpt: number;
  /** Contrast in focus as planned over that of the model here, which leaves colour and coma out; one a plane. */
  contrastRatio: readonly number[];
  /** Contrast in the corner as planned over that of the model here on the axis. */
  cornerRatio: readonly number[];
}

/**
 * Prepares a station for being built many times.
 *
 * Input    `planned`: contrast of the same planes; what the plan knows beyond the model here is kept as a factor
 * Returns  null where a plane or a calibration distance has no power, so that nothing can be commanded.
 */
export function builtModel({
  station,
  planes,
  planned,
}: {
  station: Station;
  planes: readonly TaskPlane[];
  planned: readonly Pick<PlanePrediction, 'mtfAtTask' | 'cornerMtfAtTask'>[];
}): BuiltModel | null {
  const model = layoutModelOf(station);
  const calibration = calibrationGain(
    station,
    planes.map((plane) => plane.workingDistanceMm),
  );
  const needed = (workingDistanceMm: number) => powerFor(model, workingDistanceMm);
  const commandsDpt = planes.map((plane) => needed(plane.workingDistanceMm));
  const calibrationCommandsDpt = calibration.distancesMm.map(needed);
  if ([...commandsDpt, ...calibrationCommandsDpt].some(Number.isNaN)) return null;
  const optics = builtOptics(station, model, asWritten(station));
  const own = planes.map(
    ({ workingDistanceMm }, p) =>
      builtPlaneAt(optics, { focalPowerDpt: commandsDpt[p]!, workingDistanceMm })?.contrast ?? 0,
  );
  const { repeatabilityDpt, controlStepDpt, hysteresisDpt } = station.parts.tunableLens;
  return {
    station,
    planes,
    calibration,
    commandsDpt,
    calibrationCommandsDpt,
    middleFNumber: middleFNumberOf(station, station.layout.fNumber),
    nearIsHigher: needed(station.task.nearMm) >= needed(station.task.farMm),
    operatingStdDpt: Math.hypot(repeatabilityDpt, controlStepDpt / Math.sqrt(12), hysteresisDpt / Math.sqrt(12)),
    contrastRatio: own.map((contrast, p) => (contrast > 0 ? planned[p]!.mtfAtTask / contrast : 1)),
    cornerRatio: own.map((contrast, p) => (contrast > 0 ? planned[p]!.cornerMtfAtTask / contrast : 1)),
  };
}

/** Power that focuses a distance; NaN where none does. */
export function powerFor(model: LayoutModel, workingDistanceMm: number): number {
  const found = focalPowerAt({ model, workingDistanceMm });
  return found.kind === 'power' ? found.focalPowerDpt : Number.NaN;
}
