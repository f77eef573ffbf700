import type { Estimate, LedgerRow, Verdict } from '../../base/index.js';
import { mmPerM } from '../../base/index.js';
import { focalPowerActualDpt, workingDistanceAt } from '../../optics/index.js';
import { type BuildValues, layoutAsBuilt, nominalBuild, powerLimitsOf, type Station } from '../../station/index.js';
import { type BuildParameter, buildParametersOf } from '../distance-calibration/build-parameters.js';
import { type FittedCalibration, powerForDistance } from '../distance-calibration/lookup.js';
import { variedBy } from '../distance-calibration/maximum-a-posteriori.js';
import { fixedText } from '../fixed-text.js';
import { type Findings, sentences, sigmas, whyUncalibrated } from './findings.js';

type End = 'near' | 'far';

const outOfReach =
  'Turn the focus ring or change the spacer so that the range lies inside the lens’s powers; `plan` says by how much.';

/**
 * Nearest and farthest distance in focus at the lens's limits, with the build as fitted.
 *
 * Model    judged in vergence (1 / distance), where the uncertainty is even: in mm a far limit near infinity has none that
 *          means anything. The uncertainty is that of the build at the limit: the fit's covariance for the measured, the
 *          tolerances for the predicted reach
 * Formula  σ² = J C Jᵀ, J the slopes of the vergence at the limit with the build parameters
 */
export function reachRows({ station, calibration }: Findings): LedgerRow[] {
  const fitted = calibration?.kind === 'fitted' ? calibration : null;
  return (['near', 'far'] as const).map((end): LedgerRow => {
    const taskMm = end === 'near' ? station.task.nearMm : station.task.farMm;
    const nominal = predictedVergence(station, end);
    const measured = fitted && measuredVergence(station, fitted, end);
    const spareDpt = measured && (end === 'near' ? 1 : -1) * (measured.vergenceDpt - mmPerM / taskMm);
    const verdict = judge(spareDpt, measured?.stdDpt ?? 0);
    const shown = measured && inDistance(measured);
    const predicted = inDistance(nominal);
    return {
      key: `reach.${end}`,
      title: end === 'near' ? 'Nearest distance in focus' : 'Farthest distance in focus',
      unit: 'mm',
      required: end === 'near' ? { min: null, max: taskMm } : { min: taskMm, max: null },
      predicted: predicted.estimate,
      predictedInWords: predicted.words,
      measured: shown?.estimate ?? null,
      measuredInWords: shown?.words,
      verdict,
      reason:
        fitted && measured && spareDpt !== null
          ? sentences(
              neededInWords({ station, calibration: fitted, taskMm, end }),
              verdict !== 'meets' && spareInWords({ spareDpt, stdDpt: measured.stdDpt, taskMm }),
            )
          : whyUncalibrated(calibration),
      remedy: verdict === 'meets' ? null : outOfReach,
      basis:
        'Layout with the build errors as fitted, at the limits of station and lens, at the reference temperature; uncertainty from the fit’s covariance at the limit, of the prediction from the tolerances.',
    };
  });
}

/** The command that the task's end needs and how far inside the limit it lies, the same numbers as in the rows of best focus. */
function neededInWords({
  station,
  calibration,
  taskMm,
  end,
}: {
  station: Station;
  calibration: FittedCalibration;
  taskMm: number;
  end: End;
}): string | null {
  const { curve, referenceTemperatureDegC } = calibration;
  if (taskMm < curve[0]!.workingDistanceMm || taskMm > curve.at(-1)!.workingDistanceMm) return null;
  const { focalPowerDpt } = powerForDistance({ calibration, workingDistanceMm: taskMm });
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const [atLowest, atHighest] = vergencesAtLimits(station, nominalBuild(station));
  const limitIsHighest = end === 'near' ? atHighest >= atLowest : atHighest <= atLowest;
  const spareDpt = limitIsHighest ? powerMaxDpt - focalPowerDpt : focalPowerDpt - powerMinDpt;
  const limitDpt = limitIsHighest ? powerMaxDpt : powerMinDpt;
  return (
    `As built ${taskMm} mm needs ${fixedText(focalPowerDpt, 3)} dpt at ${referenceTemperatureDegC} °C, ` +
    `${fixedText(Math.abs(spareDpt), 3)} dpt ${spareDpt < 0 ? 'outside' : 'inside'} the limit of ${fixedText(limitDpt, 2)} dpt.`
  );
}

/** Why a reach is short, or only just enough. */
const spareInWords = ({ spareDpt, stdDpt, taskMm }: { spareDpt: number; stdDpt: number; taskMm: number }): string =>
  `In vergence, 1 m / distance, what the limit focuses lies ${Math.abs(spareDpt).toFixed(2)} ± ${stdDpt.toFixed(2)} dpt (1 σ) ${spareDpt < 0 ? 'short of' : 'beyond'} ${taskMm} mm.`;

function judge(spareDpt: number | null, stdDpt: number): Verdict {
  if (spareDpt === null) return 'unknown';
  if (spareDpt < 0) return 'fails';
  return spareDpt < sigmas * stdDpt ? 'marginal' : 'meets';
}

/** With the build as the station file says, and the tolerances. */
function predictedVergence(station: Station, end: End) {
  const parameters = buildParametersOf(station);
  const covariance = diagonal(parameters.map(({ std }) => std));
  return vergenceOfBuild({ station, end, build: nominalBuild(station), parameters, covariance });
}

/** With the build that a calibration found. */
function measuredVergence(station: Station, calibration: FittedCalibration, end: End) {
  const build = nominalBuild(station);
  const found = buildParametersOf(station).flatMap(({ name }) => {
    const index = calibration.parameters.findIndex((parameter) => parameter.name === name);
    return index < 0 ? [] : [{ name, index, ...calibration.parameters[index]!.fitted }];
  });
  for (const { name, value } of found) build[name] = value;
  const parameters = found.map(({ name, std }) => ({ name, std: std ?? 0 }));
  const all = calibration.covariance;
  const covariance = all
    ? found.map((row) => found.map((column) => all[row.index]![column.index]!))
    : diagonal(parameters.map(({ std }) => std));
  return vergenceOfBuild({ station, end, build, parameters, covariance });
}

const diagonal = (stds: readonly number[]): number[][] =>
  stds.map((std, j) => stds.map((_, k) => (j === k ? std ** 2 : 0)));

/** Vergence at a limit and its standard deviation from the covariance of the build's parameters. */
function vergenceOfBuild({
  station,
  end,
  build,
  parameters,
  covariance,
}: {
  station: Station;
  end: End;
  build: BuildValues;
  parameters: readonly { name: BuildParameter['name']; std: number }[];
  covariance: readonly (readonly number[])[];
}): { vergenceDpt: number; stdDpt: number } {
  const slopes = parameters.map(({ name, std }) => {
    const half = std / 100;
    const at = (by: number) => vergenceAtLimit({ station, end, build: { ...build, [name]: build[name] + by } });
    return half === 0 ? 0 : (at(half) - at(-half)) / (2 * half);
  });
  return {
    vergenceDpt: vergenceAtLimit({ station, end, build }),
    stdDpt: Math.sqrt(Math.max(0, variedBy(slopes, covariance.flat()))),
  };
}

/** 1000 / distance in focus at a limit: the greater of the two limits for near, the smaller for far; ≤ 0: infinity and beyond. */
function vergenceAtLimit({ station, build, end }: { station: Station; build: BuildValues; end: End }): number {
  const vergences = vergencesAtLimits(station, build);
  return end === 'near' ? Math.max(...vergences) : Math.min(...vergences);
}

/** Vergence in focus at the lowest and at the highest power that may be commanded. */
function vergencesAtLimits(station: Station, build: BuildValues): [atLowest: number, atHighest: number] {
  const { referenceTemperatureDegC, temperatureCoefficientDptPerDegC } = station.parts.tunableLens;
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const model = layoutAsBuilt(station, build);
  const at = (commandedDpt: number) => {
    const focalPowerDpt = focalPowerActualDpt({
      commandedDpt,
      gain: build.powerGain,
      offsetDpt: build.powerOffsetDpt,
      temperatureDegC: referenceTemperatureDegC,
      referenceTemperatureDegC,
      temperatureCoefficientDptPerDegC,
    });
    const focus = workingDistanceAt({ model, focalPowerDpt });
    return focus.kind === 'beyond-infinity'
      ? -Math.abs(focus.arrivingVergenceDpt)
      : mmPerM / Math.max(focus.workingDistanceMm, 1e-3);
  };
  return [at(powerMinDpt), at(powerMaxDpt)];
}

/** A vergence as a distance; in words where infinity lies inside its uncertainty or the distance is at the front. */
function inDistance({ vergenceDpt, stdDpt }: { vergenceDpt: number; stdDpt: number }): {
  estimate: Estimate | null;
  words?: string;
} {
  const spread = sigmas * stdDpt;
  if (vergenceDpt <= 0) return { estimate: null, words: 'infinity' };
  if (vergenceDpt - spread <= 0)
    return { estimate: null, words: `beyond ${(mmPerM / (vergenceDpt + spread)).toFixed(0)} mm` };
  const value = mmPerM / vergenceDpt;
  return value < 0.01
    ? { estimate: null, words: 'the front itself' }
    : { estimate: { value, std: (mmPerM * stdDpt) / vergenceDpt ** 2 } };
}
