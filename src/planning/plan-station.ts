import { worstVerdict } from '../base/index.js';
import { focalPowerAt, type LayoutModel, traceSystem } from '../optics/index.js';
import { layoutModelOf, middleDistanceMm, type PlanRecord, type Station, taskPlanesOf } from '../station/index.js';
import { assumptionsOf } from './assumptions.js';
import { predictAutofocus } from './autofocus/predict-autofocus.js';
import { autofocusRows } from './autofocus-rows.js';
import { cautionsOf } from './cautions.js';
import { focusBudgetOf } from './focus-budget.js';
import { focusRow } from './focus-rows.js';
import { imageRows } from './image-rows.js';
import { withJointAdvice } from './joint-advice.js';
import { lightPlanOf } from './light-plan.js';
import { lightRows } from './light-rows.js';
import { planesToCover } from './planes-to-cover.js';
import { type PlannedPlane, plannedPlane } from './planned-plane.js';
import { reachOf } from './reach.js';
import { reachRows } from './reach-rows.js';
import { decidingRows } from './reasons.js';
import { timingOf, timingRows } from './timing.js';
import type { PlanRow } from './verdict.js';

/**
 * Plans a station: what the layout as written does with every plane of the task, against each requirement.
 *
 * Model    one optical model from layoutModelOf; see reach.ts, planned-plane.ts, focus-budget.ts, light-rows.ts,
 *          timing.ts. Axis only (the corner's light apart), light of the centre wavelength
 * Returns  a record of finite numbers; a distance that cannot be focused is a row that fails, with its reason.
 * Throws   RangeError for a layout that cannot be built: readStation refuses such files.
 * Trust    a prediction of the layout as written: what was built is learned by commissioning.
 * Source   docs/planning/plan.md
 * Checked  reference: lens 10 mm before f 16 mm; property: no NaN for random stations, tests/planning
 */
export function planStation(
  station: Station,
  { stationSha256, softwareVersion }: { stationSha256: string; softwareVersion: string },
): PlanRecord {
  const model = layoutModelOf(station);
  const reach = reachOf({ station, model });
  const middle = focalPowerAt({ model, workingDistanceMm: middleDistanceMm(station) });
  const middlePowerDpt = middle.kind === 'power' ? middle.focalPowerDpt : station.controls.parkPowerDpt;
  const middleFNumber = workingFNumberAt(model, middlePowerDpt);
  const planes = taskPlanesOf(station).map((plane) => plannedPlane({ station, model, plane, middleFNumber }));
  const budget = planes.map((plane) => focusBudgetOf({ station, plane }));
  const timing = timingOf({ station, planes });
  const hardest = hardestToFocus(planes);
  const autofocus = hardest && predictAutofocus({ station, model, plane: hardest });
  const light = lightPlanOf({ station, planes });
  const ownRows: PlanRow[] = [
    ...reachRows({ station, model, reach }),
    ...imageRows({ station, planes }),
    ...planes.map((plane, i) => focusRow({ station, model, plane, budget: budget[i]! })),
    ...lightRows({ station, planes }),
    ...autofocusRows({ autofocus, planes }),
    ...timingRows({ station, timing }),
  ];
  const rows = withJointAdvice({ station, light, rows: ownRows });
  return {
    kind: 'plan',
    station: station.station,
    invented: station.invented,
    stationSha256,
    softwareVersion,
    verdict: worstVerdict(rows.map(({ verdict }) => verdict)),
    reasons: decidingRows(rows),
    reach: reach.record,
    planes: planes.map(({ prediction }) => prediction),
    budget,
    planesToCover: planesToCover({ reach, planes }),
    settlingMs: timing.settlingMs,
    cycleMs: timing.cycleMs,
    timing: timing.plan,
    light,
    autofocus,
    ledger: rows.map(({ spareFraction: _, wishes: __, ...row }) => row),
    assumptions: assumptionsOf({ station, model, planes, focalPowerDpt: middlePowerDpt }),
    cautions: cautionsOf({ station, planes }),
  };
}

/** The plane with the least depth of field and light, where autofocus is hardest; null where none can be focused. */
function hardestToFocus(planes: readonly PlannedPlane[]): PlannedPlane | null {
  const sharp = planes.filter(({ noPower, allowedHalfWidthDpt }) => noPower === null && allowedHalfWidthDpt > 0);
  const ease = ({ allowedHalfWidthDpt, prediction }: PlannedPlane) => allowedHalfWidthDpt * prediction.signalToNoise;
  return sharp.length === 0 ? null : sharp.reduce((a, b) => (ease(b) < ease(a) ? b : a));
}

function workingFNumberAt(model: LayoutModel, focalPowerDpt: number): number {
  return traceSystem({ model, focalPowerDpt }).workingFNumber;
}
