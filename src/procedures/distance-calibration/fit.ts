import { mmPerM } from '../../base/index.js';
import type { CalibrationPoint, CalibrationRecord, FittedParameter, Station } from '../../station/index.js';
import { type BuildParameter, buildParametersOf } from './build-parameters.js';
import { explainDifference } from './explain.js';
import { type BuildModel, curveEndsMm, predictCommand } from './fit-build.js';
import { type MapFit, reducedChiSquareOf } from './maximum-a-posteriori.js';
import { type CalibrationDatum, calibrationDatum, distanceStdDpt, type FocusObservation } from './observation.js';
import { outlierOf } from './outlier.js';
import { fitReleased } from './released-tolerances.js';

/** Fewest distances with a best focus that make a calibration. */
export const fewestCalibrationDistances = 5;
/** Least spread of the distances, in dpt of best focus; and in units of the points' uncertainty. */
const leastSpread = { dpt: 0.05, sigmas: 6 };
const curvePoints = 41;
/** Half-width of a 95 % interval of the normal distribution. */
const sigmasFor95 = 1.959964;

/**
 * Focal power ↔ working distance, from best focus at five or more distances.
 *
 * Model    maximum a posteriori of the paraxial layout with unknown lens offset and gain, ring distance, spacer and focal
 *          length, each with its tolerance as prior; see focusCommandDpt and buildParametersOf
 * Formula  see fitMaximumAPosteriori; prediction interval ±1.96 √(J C Jᵀ + σ²), σ that of one more point like these;
 *          C and σ² times the reduced χ² of the points where it exceeds 1
 * Input    observations at distinct distances; measured powers are brought to the reference temperature first
 * Returns  `fitted`, or `refused`: too-few-distances, no-spread. A point that the others contradict (see outlierOf) is
 *          left out, and says so in its note. `reducedChiSquare` is that of the points alone, per degree of
 *          freedom left: expected 1. Tolerances that the points contradict are let go: see fitReleased.
 * Throws   RangeError naming a field that is not finite; `layout-forms-no-image` where no power focuses a distance.
 * Trust    offset, ring and spacer shift all distances nearly alike: their sum is well known, each alone is not.
 *          Outside the calibrated distances the interval is as good as the model.
 * Source   docs/procedures/distance-calibration.md
 * Checked  closed form: noise-free data; recovery: coverage of the interval by Monte Carlo, and the simulated station
 */
export function fitDistanceCalibration({
  station,
  observations,
}: {
  station: Station;
  observations: readonly FocusObservation[];
}): CalibrationRecord {
  const data = observations
    .map((observation) => calibrationDatum(station, observation))
    .sort((a, b) => a.workingDistanceMm - b.workingDistanceMm);
  const refusal = refuseData(data);
  if (refusal) return { kind: 'refused', ...refusal, points: data.map((datum) => unfittedPoint(datum)) };

  const asWritten = { station, parameters: buildParametersOf(station) };
  const outlier = data.length > fewestCalibrationDistances ? outlierOf(asWritten, data) : null;
  const used = data.filter((_, i) => i !== outlier);
  const { model, fit, held, released } = fitReleased(
    asWritten,
    used,
    data.map(({ workingDistanceMm }) => workingDistanceMm),
  );

  const reducedChiSquare = reducedChiSquareOf(fit);
  const inflation = Math.max(1, reducedChiSquare);
  const points = data.map((datum, i): CalibrationPoint => {
    const fittedDpt = predictCommand(model, fit, datum.workingDistanceMm).focalPowerDpt;
    const note = i === outlier ? { note: 'contradicts the other distances; left out of the fit' } : {};
    return { ...unfittedPoint(datum, note), fittedDpt, residualDpt: datum.value - fittedDpt };
  });
  const usedPoints = points.filter((_, i) => i !== outlier);
  return {
    kind: 'fitted',
    points,
    parameters: asWritten.parameters.map((parameter, j) =>
      fittedParameter(parameter, { value: fit.parameters[j]!, std: stdOf(model.parameters[j]!, j, fit, inflation) }),
    ),
    covariance: model.parameters.map((_, j) =>
      model.parameters.map((__, k) => fit.covariance[j * model.parameters.length + k]! * inflation),
    ),
    residualRmsDpt: Math.sqrt(mean(usedPoints.map((p) => p.residualDpt ** 2))),
    reducedChiSquare,
    curve: curveOf(model, fit, inflation, used),
    referenceTemperatureDegC: station.parts.tunableLens.referenceTemperatureDegC,
    explanation: explainDifference({
      model: asWritten,
      data: used,
      held,
      released,
      outlier: outlier === null ? null : points[outlier]!,
    }),
  };
}

function refuseData(data: readonly CalibrationDatum[]): { reason: string; message: string; remedy: string } | null {
  const distances = new Set(data.map((datum) => datum.workingDistanceMm));
  if (distances.size < fewestCalibrationDistances) {
    return {
      reason: 'too-few-distances',
      message: `Best focus is known at ${distances.size} distances; a calibration needs at least ${fewestCalibrationDistances}.`,
      remedy: 'See why autofocus refused at the others, and add distances between near and far.',
    };
  }
  const predicted = data.map((datum) => datum.predictedDpt);
  const spreadDpt = Math.max(...predicted) - Math.min(...predicted);
  const needed = Math.max(leastSpread.dpt, leastSpread.sigmas * Math.max(...data.map(({ std }) => std)));
  if (spreadDpt >= needed) return null;
  return {
    reason: 'no-spread',
    message: `The distances lie within ${spreadDpt.toFixed(3)} dpt of best focus; at least ${needed.toFixed(3)} dpt are needed to tell offset from slope.`,
    remedy: 'Spread the target distances over the range of the task, evenly in 1/distance.',
  };
}

const unfittedPoint = (datum: CalibrationDatum, note: { note?: string } = {}): CalibrationPoint => ({
  workingDistanceMm: datum.workingDistanceMm,
  measuredDpt: { value: datum.value, std: datum.std, ...note },
  predictedDpt: datum.predictedDpt,
  fittedDpt: datum.predictedDpt,
  residualDpt: datum.value - datum.predictedDpt,
  temperatureDegC: datum.temperatureDegC,
});

const fittedParameter = (p: BuildParameter, fitted: FittedParameter['fitted']): FittedParameter => ({
  name: p.name,
  unit: p.unit,
  title: p.title,
  prior: { value: p.value, std: p.std },
  fitted,
});

function stdOf({ std }: BuildParameter, j: number, { covariance, parameters }: MapFit, inflation: number): number {
  return Math.min(std, Math.sqrt(covariance[j * parameters.length + j]! * inflation));
}

/** Evenly spaced in vergence over the task's range and the calibrated distances, and a little beyond. */
function curveOf(model: BuildModel, fit: MapFit, inflation: number, used: readonly CalibrationDatum[]) {
  const { station } = model;
  const distances = used.map((datum) => datum.workingDistanceMm);
  const { nearMm, farMm } = curveEndsMm(station, distances);
  const near = mmPerM / nearMm;
  const far = mmPerM / farMm;
  // What one more point like these would bring, without the distance part, which changes over the range.
  const focusVariance = mean(used.map((d) => d.std ** 2 - distanceStdDpt(station, d.workingDistanceMm) ** 2));
  return Array.from({ length: curvePoints }, (_, i) => {
    const workingDistanceMm = mmPerM / (near + ((far - near) * i) / (curvePoints - 1));
    const { focalPowerDpt, focalPowerStdDpt } = predictCommand(model, fit, workingDistanceMm);
    const variance = focalPowerStdDpt ** 2 + focusVariance + distanceStdDpt(station, workingDistanceMm) ** 2;
    return { workingDistanceMm, focalPowerDpt, predicted95Dpt: sigmasFor95 * Math.sqrt(variance * inflation) };
  });
}

const mean = (list: readonly number[]): number => list.reduce((sum, v) => sum + v, 0) / list.length;
