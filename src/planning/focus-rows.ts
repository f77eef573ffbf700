import { type LayoutModel, traceSystem } from '../optics/index.js';
import {
  type BudgetTerm,
  type FocusBudget,
  focusHalfWidthDpt,
  type Station,
  sharpnessStagesOf,
} from '../station/index.js';
import { once } from './once.js';
import type { PlannedPlane } from './planned-plane.js';
import { comparedRow, opening, type PlanRow, remedyShare } from './verdict.js';
import { inWords } from './words.js';

/** Standard deviations of the focus that must lie inside the depth of field: 2 for about 95 % of the approaches. */
export const coverageFactor = 2;

/** A change that leaves more than this share of the focus error is not worth naming as a remedy. */
const worthwhileShare = 0.95;

/** Row of the focus budget at a plane: does what moves the focus stay inside the depth of field? */
export function focusRow({
  station,
  model,
  plane,
  budget,
}: {
  station: Station;
  model: LayoutModel;
  plane: PlannedPlane;
  budget: FocusBudget;
}): PlanRow {
  const { name, workingDistanceMm } = plane.prediction;
  const at = inWords(workingDistanceMm, 'mm');
  const spreadDpt = coverageFactor * budget.rootSumSquareDpt;
  const row = {
    key: `focus.${name}.budget`,
    title: `Focus error against depth of field at ${at}`,
    unit: 'dpt',
    basis:
      'Two standard deviations of control step, repeatability, hysteresis, temperature and calibration (root sum of squares) against the ' +
      'half-width of the depth of field, within which the contrast at the task frequency stays at the task’s value.',
  };
  const required = { min: null, max: budget.allowedHalfWidthDpt };
  if (budget.allowedHalfWidthDpt === 0) {
    return {
      ...row,
      required,
      predicted: { value: spreadDpt, std: null, note: 'two standard deviations of the focus itself' },
      measured: null,
      verdict: 'fails',
      reason: `${opening.fails}at ${at} there is no depth of field by the task’s contrast: ${plane.noPower ?? 'the contrast needed is not reached even in focus'}`,
      remedy: 'see the row on contrast at this distance',
      spareFraction: Number.NEGATIVE_INFINITY,
    };
  }
  const closed = once(() => closedAperture({ station, model, plane, spreadDpt }));
  const mm = (dpt: number) => inWords(dpt * plane.distancePerPowerMmPerDpt, 'mm', 2);
  const largest = budget.terms.reduce((a, b) => (b.valueDpt > a.valueDpt ? b : a));
  return comparedRow({
    ...row,
    value: spreadDpt,
    required,
    reason:
      `at ${at} depth of field by the task’s contrast allows ±${mm(budget.allowedHalfWidthDpt)} (±${inWords(budget.allowedHalfWidthDpt, 'dpt', 2)}), focus stays within ` +
      `±${mm(spreadDpt)} (±${inWords(spreadDpt, 'dpt', 2)}, 2 σ; worst case ±${inWords(budget.worstCaseDpt, 'dpt', 2)}), most of it ${termInWords[largest.name]}${changeInWords(budget)}`,
    remedy: () => focusRemedy({ station, closed: closed(), spreadDpt, budget }),
    wishes: () => {
      const found = closed();
      const by = `focus budget at ${at}`;
      return found ? [{ dial: 'fNumber', direction: 'up', by, value: found.fNumber }] : [];
    },
  });
}

/** What to change first, with what it leaves. */
function changeInWords({ firstChange }: FocusBudget): string {
  if (!firstChange) return '';
  return `; to change first: ${firstChange.change}, which leaves ±${inWords(coverageFactor * firstChange.rootSumSquareDpt, 'dpt', 2)}`;
}

const termInWords: Record<BudgetTerm['name'], string> = {
  'control-step': 'control step',
  repeatability: 'repeatability',
  hysteresis: 'hysteresis',
  temperature: 'temperature drift',
  calibration: 'calibration',
};

function focusRemedy({
  station,
  closed,
  spreadDpt,
  budget: { firstChange, rootSumSquareDpt, allowedHalfWidthDpt },
}: {
  station: Station;
  closed: ReturnType<typeof closedAperture>;
  spreadDpt: number;
  budget: FocusBudget;
}): string {
  const ways: string[] = [];
  if (firstChange && firstChange.rootSumSquareDpt < worthwhileShare * rootSumSquareDpt) {
    const leftDpt = coverageFactor * firstChange.rootSumSquareDpt;
    const enough = leftDpt <= allowedHalfWidthDpt ? '' : ', not yet enough';
    ways.push(
      `${firstChange.change}: ±${inWords(leftDpt, 'dpt', 2)} instead of ±${inWords(spreadDpt, 'dpt', 2)}${enough}`,
    );
  }
  if (closed) {
    const light = (closed.fNumber / station.layout.fNumber) ** 2;
    ways.push(
      `close the aperture to f/${closed.fNumber} (±${inWords(closed.halfWidthDpt, 'dpt', 2)}, needs ${inWords(light, '', 2)} times the light)`,
    );
  }
  ways.push('use closed-loop autofocus at this plane');
  return ways.join(', or ');
}

/** Third-stop series of f-numbers as engraved. Source: common practice, ISO 517 (from memory). */
const fNumbers = [
  1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22, 25, 28, 32,
];

/**
 * Smallest engraved f-number above the present one at which depth of field holds the focus error with the usual margin;
 * null where none of the lens does: closing farther, diffraction takes the contrast and with it the depth.
 */
function closedAperture({
  station,
  model,
  plane: { prediction },
  spreadDpt,
}: {
  station: Station;
  model: LayoutModel;
  plane: PlannedPlane;
  spreadDpt: number;
}): { fNumber: number; halfWidthDpt: number } | null {
  const { neededPowerDpt: focalPowerDpt, magnification, taskFrequencyPerMm: frequencyPerMm } = prediction;
  if (focalPowerDpt === null) return null;
  const stages = sharpnessStagesOf({ station, model, focalPowerDpt, magnification, moving: true });
  const { contrastNeeded } = station.task;
  for (const fNumber of fNumbers) {
    if (fNumber <= station.layout.fNumber || fNumber > station.parts.fixedLens.fNumberMax) continue;
    const closed = { ...model, fixedLens: { ...model.fixedLens, fNumber } };
    const system = traceSystem({ model: closed, focalPowerDpt });
    const halfWidthDpt = focusHalfWidthDpt({ station, system, stages, frequencyPerMm, contrastNeeded });
    if (halfWidthDpt === null) return null;
    if (spreadDpt <= (1 - remedyShare) * halfWidthDpt) return { fNumber, halfWidthDpt };
  }
  return null;
}
