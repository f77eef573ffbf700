import type { BudgetTerm, FocusBudget, Station } from '../station/index.js';
import { firstChangeOf } from './focus-advice.js';
import type { PlannedPlane } from './planned-plane.js';
import { temperatureShiftsDpt } from './power-tolerance.js';

/** Parameters that the distance calibration fits: lens offset and gain, ring distance, spacer, focal length. */
const calibrationParameterCount = 5;
/** Distances of the calibration where the station file names none. */
const calibrationDistanceCount = 7;

/**
 * Depth of field at a plane against all that moves the focus away from it.
 *
 * Model    independent contributions, each with a standard deviation and a largest value:
 *          control step h: h/√12, h/2 · repeatability σ: σ, 3σ · hysteresis w: w/√12, w/2
 *          temperature, uncompensated: uniform over the task's range, √((a² + ab + b²)/3), max(|a|, |b|) with a, b the
 *          shifts at its ends; compensated: |k|·σ_T, three times that
 *          calibration, before it is made: σ_point·√(parameters / distances), twice that
 * Formula  root sum of squares of the standard deviations; sum of the largest values
 * Trust    hysteresis is an upper bound where each power is approached from one side; the calibration's part is an
 *          estimate that the calibration itself replaces.
 * Checked  closed form: tests/planning/focus-budget.test.ts
 */
export function focusBudgetOf({ station, plane }: { station: Station; plane: PlannedPlane }): FocusBudget {
  const terms = [
    controlStepTerm(station),
    repeatabilityTerm(station),
    hysteresisTerm(station),
    temperatureTerm(station),
    calibrationTerm(station, plane),
  ];
  return {
    plane: plane.prediction.name,
    allowedHalfWidthDpt: plane.allowedHalfWidthDpt,
    terms,
    rootSumSquareDpt: Math.hypot(...terms.map(({ valueDpt }) => valueDpt)),
    worstCaseDpt: terms.reduce((sum, { worstCaseDpt }) => sum + worstCaseDpt, 0),
    firstChange: firstChangeOf({ station, terms, correctedTemperatureDpt: correctedTemperatureStdDpt(station) }),
  };
}

function controlStepTerm({ parts }: Station): BudgetTerm {
  const stepDpt = parts.tunableLens.controlStepDpt;
  const note = 'smallest commanded step: evenly spread over its width';
  return { name: 'control-step', valueDpt: stepDpt / Math.sqrt(12), worstCaseDpt: stepDpt / 2, note };
}

function repeatabilityTerm({ parts }: Station): BudgetTerm {
  const stdDpt = parts.tunableLens.repeatabilityDpt;
  return {
    name: 'repeatability',
    valueDpt: stdDpt,
    worstCaseDpt: 3 * stdDpt,
    note: '1 σ of the datasheet; worst case 3 σ',
  };
}

function hysteresisTerm({ parts, controls }: Station): BudgetTerm {
  const widthDpt = parts.tunableLens.hysteresisDpt;
  const note = `half the width either way; an upper bound, as every power is approached from ${controls.approachFrom}`;
  return { name: 'hysteresis', valueDpt: widthDpt / Math.sqrt(12), worstCaseDpt: widthDpt / 2, note };
}

function temperatureTerm(station: Station): BudgetTerm {
  const { parts, controls, commissioning, task } = station;
  if (controls.compensateTemperature) {
    const stdDpt = correctedTemperatureStdDpt(station);
    const note = `corrected by the temperature reading, known to ${commissioning.temperatureStdDegC} °C`;
    return { name: 'temperature', valueDpt: stdDpt, worstCaseDpt: 3 * stdDpt, note };
  }
  const [a, b] = temperatureShiftsDpt(station);
  const note = `not corrected, ${task.temperatureMinDegC} … ${task.temperatureMaxDegC} °C about ${parts.tunableLens.referenceTemperatureDegC} °C`;
  const worstCaseDpt = Math.max(Math.abs(a), Math.abs(b));
  return { name: 'temperature', valueDpt: Math.sqrt((a * a + a * b + b * b) / 3), worstCaseDpt, note };
}

/** What the temperature reading's uncertainty leaves where it corrects the power. */
function correctedTemperatureStdDpt({ parts, commissioning }: Station): number {
  return Math.abs(parts.tunableLens.temperatureCoefficientDptPerDegC) * commissioning.temperatureStdDegC;
}

/**
 * Uncertainty of one distance's best focus in a distance calibration, before it is made.
 *
 * Formula  √((σ_distance·dP/ds)² + σ_repeatability² + (k·σ_T)²)
 */
export function calibrationPointStdDpt(station: Station, distancePerPowerMmPerDpt: number): number {
  const { commissioning, parts } = station;
  const distanceDpt = distancePerPowerMmPerDpt > 0 ? commissioning.distanceStdMm / distancePerPowerMmPerDpt : 0;
  return Math.hypot(distanceDpt, parts.tunableLens.repeatabilityDpt, correctedTemperatureStdDpt(station));
}

function calibrationTerm(station: Station, plane: PlannedPlane): BudgetTerm {
  const distances = station.commissioning.targetDistancesMm?.length ?? calibrationDistanceCount;
  const pointDpt = calibrationPointStdDpt(station, plane.distancePerPowerMmPerDpt);
  const valueDpt = pointDpt * Math.sqrt(Math.min(1, calibrationParameterCount / distances));
  const note = `estimate before it is made: ${distances} distances, ${calibrationParameterCount} fitted parameters`;
  return { name: 'calibration', valueDpt, worstCaseDpt: 2 * valueDpt, note };
}
