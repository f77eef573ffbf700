import { focalPowerAt, traceSystem } from '../../optics/index.js';
import { layoutModelOf, middleDistanceMm, type Station, taskPlanesOf } from '../../station/index.js';
import { focusBudgetOf } from '../focus-budget.js';
import { coverageFactor } from '../focus-rows.js';
import { plannedPlane } from '../planned-plane.js';
import { type Reach, type ReachEnd, reachOf } from '../reach.js';
import { timingOf } from '../timing.js';
import { type Margins, noMargin } from './requirements.js';

/**
 * The margins of a station against its task, from the full prediction.
 *
 * Model    the same functions as planStation: a margin is the share to spare that the plan's row has
 * Formula  reach (spare − kept free) / range of the lens;  at least: value / limit − 1;  at most: 1 − value / limit
 * Returns  finite numbers, −1000 … ; those of the worst plane
 * Checked  property: equal to the rows of planStation, tests/planning/search/bounds.test.ts
 */
export function marginsOf(station: Station): Margins {
  const { task } = station;
  const model = layoutModelOf(station);
  const reach = reachOf({ station, model });
  const middle = focalPowerAt({ model, workingDistanceMm: middleDistanceMm(station) });
  const middlePowerDpt = middle.kind === 'power' ? middle.focalPowerDpt : station.controls.parkPowerDpt;
  const middleFNumber = traceSystem({ model, focalPowerDpt: middlePowerDpt }).workingFNumber;
  const planes = taskPlanesOf(station).map((plane) => plannedPlane({ station, model, plane, middleFNumber }));
  const unfocusable = planes.some(({ noPower }) => noPower !== null);
  const worst = (marginAt: (plane: (typeof planes)[number]) => number) =>
    unfocusable ? noMargin : Math.max(noMargin, Math.min(...planes.map(marginAt)));
  const { cycleMs } = timingOf({ station, planes });
  return {
    reachNear: reachMargin(reach.near, reach),
    reachFar: reachMargin(reach.far, reach),
    fieldWidth: worst(({ prediction }) => prediction.fieldWidthMm / task.fieldWidthMm - 1),
    fieldHeight: worst(({ prediction }) => prediction.fieldHeightMm / task.fieldHeightMm - 1),
    sampling: worst(({ prediction }) => 1 - prediction.taskFrequencyPerPx / 0.5),
    contrast: worst(
      ({ prediction: { mtfAtTask, cornerMtfAtTask } }) =>
        Math.min(mtfAtTask, cornerMtfAtTask) / task.contrastNeeded - 1,
    ),
    cornerLight: worst(({ cornerIllumination }) => cornerIllumination / task.cornerIlluminationNeeded - 1),
    focus: worst((plane) => {
      const { rootSumSquareDpt } = focusBudgetOf({ station, plane });
      return 1 - (coverageFactor * rootSumSquareDpt) / plane.allowedHalfWidthDpt;
    }),
    signalToNoise: worst(({ prediction }) => prediction.signalToNoise / task.signalToNoiseNeeded - 1),
    cycle: cycleMs === null || unfocusable ? noMargin : Math.max(noMargin, 1 - cycleMs / task.cycleTimeMs),
  };
}

function reachMargin({ spareDpt, tolerance }: ReachEnd, { record }: Reach): number {
  if (spareDpt === null) return noMargin;
  return Math.max(noMargin, (spareDpt - (tolerance?.neededDpt ?? 0)) / (record.powerMaxDpt - record.powerMinDpt));
}
