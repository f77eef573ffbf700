import { FocuswrightError, mmPerM } from '../../base/index.js';
import { type BuildValues, nominalBuild, type Station } from '../../station/index.js';
import type { BuildParameter } from './build-parameters.js';
import { focusCommandDpt } from './focus-command.js';
import { fitMaximumAPosteriori, type MapFit, variedBy } from './maximum-a-posteriori.js';
import type { CalibrationDatum } from './observation.js';
import { slopeOf } from './slope.js';

/** A station with the build parameters that may be fitted. */
export interface BuildModel {
  station: Station;
  parameters: readonly BuildParameter[];
}

/** Share of the distance by which the curve goes beyond both ends, so that a reading just outside has its place. */
const curveMargin = 0.02;

/** Nearest and farthest distance that a calibration speaks of: the task's and the measured, and a little beyond. */
export function curveEndsMm({ task }: Station, distancesMm: readonly number[]): { nearMm: number; farMm: number } {
  return {
    nearMm: Math.min(task.nearMm, ...distancesMm) * (1 - curveMargin),
    farMm: Math.max(task.farMm, ...distancesMm) * (1 + curveMargin),
  };
}

/**
 * Fits the build parameters to data; those not in the model stay as the station says.
 *
 * Model    goes only through builds that focus the data's distances, the task's and those of `mustFocusMm`
 * Throws   `layout-forms-no-image` where the station as written does not focus one of them.
 */
export function fitBuild(
  model: BuildModel,
  data: readonly CalibrationDatum[],
  mustFocusMm: readonly number[] = [],
): MapFit {
  const dataMm = data.map(({ workingDistanceMm }) => workingDistanceMm);
  const { nearMm, farMm } = curveEndsMm(model.station, [...dataMm, ...mustFocusMm]);
  const everyMm = [...dataMm, nearMm, (2 * mmPerM) / (mmPerM / nearMm + mmPerM / farMm), farMm];
  const commandsOf = (values: readonly number[]) => everyMm.map((mm) => commandOfBuildDpt(model, values, mm));
  commandsOf(model.parameters.map(({ value }) => value));
  return fitMaximumAPosteriori({
    data,
    priors: model.parameters,
    model: (values) => whereBuildable(() => commandsOf(values))?.slice(0, data.length) ?? null,
  });
}

/** The command that focuses a distance, and its standard deviation from the fit's covariance alone. */
export function predictCommand(
  model: BuildModel,
  fit: MapFit,
  workingDistanceMm: number,
): { focalPowerDpt: number; focalPowerStdDpt: number } {
  const command = (values: readonly number[]) =>
    whereBuildable(() => [commandOfBuildDpt(model, values, workingDistanceMm)]);
  const slopes = model.parameters.map(
    ({ std }, index) => slopeOf({ model: command, at: fit.parameters, index, half: std / 1000 })[0]!,
  );
  return {
    focalPowerDpt: commandOfBuildDpt(model, fit.parameters, workingDistanceMm),
    focalPowerStdDpt: Math.sqrt(Math.max(0, variedBy(slopes, fit.covariance))),
  };
}

/** The commands of a build; null for one that cannot be made or does not focus, or where a command is not finite. */
function whereBuildable(commands: () => number[]): number[] | null {
  try {
    const list = commands();
    return list.every(Number.isFinite) ? list : null;
  } catch (error) {
    if (error instanceof RangeError) return null;
    if (error instanceof FocuswrightError && error.code === 'layout-forms-no-image') return null;
    throw error;
  }
}

function commandOfBuildDpt(model: BuildModel, values: readonly number[], workingDistanceMm: number): number {
  const build: BuildValues = nominalBuild(model.station);
  model.parameters.forEach(({ name }, j) => {
    build[name] = values[j]!;
  });
  return focusCommandDpt({ station: model.station, build, workingDistanceMm });
}
