import type { LedgerRow } from '../../base/index.js';
import { powerLimitsOf } from '../../station/index.js';
import { buildParametersOf } from '../distance-calibration/build-parameters.js';
import { mostProbableError } from '../distance-calibration/explain.js';
import { fitBuild, predictCommand } from '../distance-calibration/fit-build.js';
import { type FittedCalibration, powerForDistance } from '../distance-calibration/lookup.js';
import type { CalibrationDatum } from '../distance-calibration/observation.js';
import { fixedText } from '../fixed-text.js';
import { resolutionPlaces } from '../resolution-check/plan.js';
import { isElsewhere, placeThere } from './elsewhere.js';
import { differs, type Findings, judgeMeasured, sentences, whyUncalibrated } from './findings.js';

const outOfReach =
  'Turn the focus ring or change the spacer so that the range lies inside the lens’s powers; `plan` says by how much.';

/** Best focus at near, middle and far: measured by the calibration, beside the prediction with the parts' tolerances. */
export function focusRows({ station, calibration }: Findings): LedgerRow[] {
  const { powerMinDpt: min, powerMaxDpt: max } = powerLimitsOf(station);
  const { nearMm, farMm } = station.task;
  const places = resolutionPlaces(station, { distancesMm: null });
  const model = { station, parameters: buildParametersOf(station) };
  const unfitted = fitBuild(model, []);
  const cause = calibration?.kind === 'fitted' ? mostProbableError(model, dataOf(calibration)) : null;
  return places.map(({ name, workingDistanceMm }): LedgerRow => {
    const prior = predictCommand(model, unfitted, workingDistanceMm);
    const predicted = { value: prior.focalPowerDpt, std: prior.focalPowerStdDpt, note: 'tolerances of the parts' };
    const measured = calibration?.kind === 'fitted' ? measuredFocus(calibration, workingDistanceMm) : null;
    const required = { min, max };
    const nearestMm = calibration?.kind === 'fitted' ? nearestMeasuredMm(calibration, workingDistanceMm) : null;
    const elsewhereMm =
      nearestMm !== null && isElsewhere({ station, wantedMm: workingDistanceMm, measuredMm: nearestMm })
        ? nearestMm
        : null;
    const verdict = elsewhereMm === null ? judgeMeasured(measured, required) : 'unknown';
    const place = name === 'middle' ? 'the middle' : name;
    const difference =
      measured &&
      `${signed(measured.value - predicted.value)} dpt from the prediction (± ${predicted.std.toFixed(3)} dpt, 1 σ, by the tolerances).`;
    return {
      key: `focus.${name}`,
      title: `Best focus at ${place}, ${workingDistanceMm.toFixed(0)} mm${elsewhereMm === null ? '' : ` (from ${elsewhereMm.toFixed(0)} mm)`}`,
      unit: 'dpt',
      required,
      predicted,
      measured,
      verdict,
      reason: measured
        ? sentences(
            elsewhereMm !== null &&
              `Measured at ${elsewhereMm.toFixed(0)} mm; the task’s ${name} is ${workingDistanceMm.toFixed(0)} mm.`,
            `${fixedText(measured.value, 3)} dpt at ${station.parts.tunableLens.referenceTemperatureDegC} °C, ${insideText(Math.min(max - measured.value, measured.value - min))} the limits;`,
            difference,
            differs({ measured, predicted }) && cause,
          )
        : whyUncalibrated(calibration),
      remedy: verdict === 'meets' ? null : elsewhereMm === null ? outOfReach : placeThere(workingDistanceMm),
      basis: `Distance calibration over ${nearMm} … ${farMm} mm, at ${station.parts.tunableLens.referenceTemperatureDegC} °C; prediction by system matrices.`,
    };
  });
}

/** The distance itself where it lies among those measured, else the nearest of them; the one left out does not count. */
function nearestMeasuredMm(calibration: FittedCalibration, workingDistanceMm: number): number {
  const distancesMm = dataOf(calibration).map((point) => point.workingDistanceMm);
  return Math.min(Math.max(...distancesMm), Math.max(Math.min(...distancesMm), workingDistanceMm));
}

function measuredFocus(calibration: FittedCalibration, workingDistanceMm: number) {
  const { focalPowerDpt, predicted95Dpt } = powerForDistance({ calibration, workingDistanceMm });
  return { value: focalPowerDpt, std: predicted95Dpt / 1.96 };
}

/** The points of a calibration as the fit saw them, without the one it left out. */
const dataOf = ({ points }: FittedCalibration): CalibrationDatum[] =>
  points
    .filter(({ measuredDpt }) => measuredDpt.note === undefined)
    .map(({ measuredDpt, ...point }) => ({ ...point, value: measuredDpt.value, std: measuredDpt.std ?? 0 }));

/** How far inside limits, or outside. */
const insideText = (spareDpt: number): string =>
  `${Math.abs(spareDpt).toFixed(3)} dpt ${spareDpt < 0 ? 'outside' : 'inside'}`;

const signed = (value: number): string => `${value < 0 ? '−' : '+'}${Math.abs(value).toFixed(3)}`;
