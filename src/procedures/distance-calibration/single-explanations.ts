import type { BuildParameter } from './build-parameters.js';
import { type BuildModel, fitBuild } from './fit-build.js';
import type { CalibrationDatum } from './observation.js';

/** Prior of a single explanation in tolerances: so wide that the data alone decide its size. */
export const wide = 100;

/** A build error by its size. */
export interface InTolerances {
  parameter: BuildParameter;
  /** As found; the parameter's own is what the station file says. */
  value: number;
  /** Size in tolerances. */
  toleranceRatio: number;
}

/** One build error taken alone: how large it would have to be, and how well it explains the data. */
export interface SingleExplanation extends InTolerances {
  /** What it leaves unexplained. */
  chiSquare: number;
}

/**
 * Each build error alone, the most probable first.
 *
 * Model    one parameter fitted to the data without regard to its tolerance, the others as the station says; ordered by
 *          what it leaves unexplained plus the square of its size in tolerances. Where the size that the data ask for
 *          cannot be built, the nearest that can is left with what it does not explain.
 */
export function singleExplanations(model: BuildModel, data: readonly CalibrationDatum[]): SingleExplanation[] {
  return model.parameters
    .map((parameter) => {
      const wider = { ...parameter, std: wide * parameter.std };
      const fit = fitBuild({ station: model.station, parameters: [wider] }, data);
      const value = fit.parameters[0]!;
      const toleranceRatio = Math.abs(value - parameter.value) / parameter.std;
      return { parameter, value, toleranceRatio, chiSquare: fit.dataChiSquare };
    })
    .sort((a, b) => a.chiSquare + a.toleranceRatio ** 2 - (b.chiSquare + b.toleranceRatio ** 2));
}

/** Upper limit of χ² for data that a model describes: mean plus three standard deviations. */
export const limitOfChiSquare = (count: number): number => count + 3 * Math.sqrt(2 * count);
