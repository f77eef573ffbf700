import type { Contributor } from '../../station/index.js';
import { temperatureShiftsDpt } from '../power-tolerance.js';
import type { BuiltModel } from './built-model.js';
import { type BuiltValues, builtValues } from './built-values.js';
import { type Deviation, drawnStation } from './deviations.js';
import type { BuiltRequirement } from './requirements.js';

/** Contributions below this share of the variance are not listed. */
const leastShare = 0.001;

/** Contributors of one requirement, before and after a calibration. */
export interface RankedContributors {
  now: Contributor[];
  afterCalibration: Contributor[];
}

/**
 * What part of each requirement's variance every deviation brings.
 *
 * Model    first order, one deviation at a time about the layout as written; for the contrast as focused the variance of
 *          the focus error in dpt, to which temperature, repeatability, control step, hysteresis and (after a
 *          calibration) the uncertainty of its points add
 * Formula  (½·[value at +1σ − value at −1σ])² / Σ of all
 * Trust    a value that stands at an extreme of a deviation has no first order: its share is too small.
 * Checked  closed form: shares of offset and gain, tests/planning/tolerance.test.ts
 */
export function rankedContributors(
  of: BuiltModel,
  requirements: readonly BuiltRequirement[],
  deviations: readonly Deviation[],
): RankedContributors[] {
  const silent = new Float64Array(of.calibration.distancesMm.length);
  const at = (index: number, sigmas: number) =>
    builtValues(
      of,
      drawnStation(
        of.station,
        deviations,
        deviations.map((_, i) => (i === index ? sigmas : 0)),
      ),
      silent,
    );
  const pairs = deviations.map((_, i): [BuiltValues, BuiltValues] => [at(i, 1), at(i, -1)]);
  const variances = (value: (values: BuiltValues) => number) =>
    deviations.map(({ name, title }, i) => {
      const half = (value(pairs[i]![0]) - value(pairs[i]![1])) / 2;
      return { name, title, variance: Number.isFinite(half) ? half * half : 0 };
    });
  return requirements.map(({ planeIndex: plane, calibrated }, r) => {
    if (!calibrated || plane === null) {
      const list = shares(variances(({ now }) => now[r]!));
      return { now: list, afterCalibration: list };
    }
    const moving = operatingVariances(of);
    const noise = of.calibration.gain[plane]!.reduce((sum, g, i) => sum + (g * of.calibration.pointStdDpt[i]!) ** 2, 0);
    const calibration = { name: 'calibration', title: 'Uncertainty of the calibration’s points', variance: noise };
    return {
      now: shares([...variances(({ focusErrorDpt }) => focusErrorDpt[plane]!), ...moving]),
      afterCalibration: shares([
        ...variances(({ focusErrorAfterDpt }) => focusErrorAfterDpt[plane]!),
        ...moving,
        calibration,
      ]),
    };
  });
}

/** What moves the focus of a station from one moment to the next. */
function operatingVariances({ station }: BuiltModel) {
  const { repeatabilityDpt, controlStepDpt, hysteresisDpt } = station.parts.tunableLens;
  const [a, b] = station.controls.compensateTemperature ? [0, 0] : temperatureShiftsDpt(station);
  return [
    { name: 'temperature', title: 'Temperature over the task’s range', variance: (a * a + a * b + b * b) / 3 },
    { name: 'repeatability', title: 'Repeatability of the lens', variance: repeatabilityDpt ** 2 },
    { name: 'control-step', title: 'Control step', variance: controlStepDpt ** 2 / 12 },
    { name: 'hysteresis', title: 'Hysteresis', variance: hysteresisDpt ** 2 / 12 },
  ];
}

function shares(terms: readonly { name: string; title: string; variance: number }[]): Contributor[] {
  const whole = terms.reduce((sum, { variance }) => sum + variance, 0);
  if (!(whole > 0)) return [];
  return terms
    .map(({ name, title, variance }) => ({ name, title, share: variance / whole }))
    .filter(({ share }) => share >= leastShare)
    .sort((a, b) => b.share - a.share);
}
