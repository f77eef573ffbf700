import type { LayoutModel } from '../optics/index.js';
import type { Station } from '../station/index.js';
import { once } from './once.js';
import type { Reach, ReachEnd } from './reach.js';
import { reachRemedy } from './reach-remedy.js';
import { opening, type PlanRow } from './verdict.js';
import { inWords } from './words.js';

/**
 * Ledger rows of the reach: the nearest and the farthest distance in focus.
 *
 * Model    meets: the power needed lies inside the limit by at least 2 σ of the build tolerances and the drift over the
 *          task's temperatures; marginal: inside, but by less
 */
export function reachRows({
  station,
  model,
  reach,
}: {
  station: Station;
  model: LayoutModel;
  reach: Reach;
}): PlanRow[] {
  const remedy = once(() => reachRemedy({ station, model, reach }));
  return [reach.near, reach.far].map((end) => reachRow(end, reach, remedy));
}

function reachRow(end: ReachEnd, { record }: Reach, remedy: () => string): PlanRow {
  const near = end.name === 'near';
  const spareDpt = end.spareDpt;
  const neededDpt = end.tolerance?.neededDpt ?? 0;
  const rangeDpt = record.powerMaxDpt - record.powerMinDpt;
  const verdict = spareDpt === null || spareDpt < 0 ? 'fails' : spareDpt < neededDpt ? 'marginal' : 'meets';
  return {
    key: `reach.${end.name}`,
    title: near ? 'Nearest distance in focus' : 'Farthest distance in focus',
    unit: 'mm',
    required: near ? { min: null, max: end.taskMm } : { min: end.taskMm, max: null },
    predicted: predictedEnd(end, record),
    predictedInWords: near || !record.farIsInfinite ? undefined : 'infinity',
    measured: null,
    verdict,
    reason: opening[verdict] + reasonOf(end, neededDpt),
    remedy: verdict === 'meets' ? null : remedy(),
    basis:
      'Power needed at the distance from the paraxial layout (system matrices), against the limits of station and lens. ' +
      'Kept free: 2 σ of lens offset and gain, focus ring, focal length and spacer, and the drift |k|·max|T − T_ref|.',
    spareFraction: spareDpt === null ? Number.NEGATIVE_INFINITY : (spareDpt - neededDpt) / rangeDpt,
  };
}

function predictedEnd({ name, atLimitStdMm }: ReachEnd, record: Reach['record']): PlanRow['predicted'] {
  const value = name === 'near' ? record.nearMm : record.farMm;
  return value === null
    ? null
    : { value, std: atLimitStdMm, note: 'over built stations, by the tolerances of the parts' };
}

function reasonOf({ taskMm, neededPowerDpt, limitDpt, spareDpt, atLimit }: ReachEnd, neededDpt: number): string {
  const at = inWords(taskMm, 'mm');
  if (neededPowerDpt === null || spareDpt === null) {
    return `no focal power focuses ${at}: the tunable lens sits at an image of the object, so its power moves no focus`;
  }
  const limit = inWords(limitDpt, 'dpt');
  const needs = `${at} needs ${inWords(neededPowerDpt, 'dpt')}`;
  if (spareDpt < 0) {
    return `${needs}, the station’s limit is ${limit}; at the limit focus lies ${whereInWords(atLimit)}`;
  }
  const spare = `${inWords(spareDpt, 'dpt')} inside the limit of ${limit}`;
  const kept = `tolerances and temperature need ${inWords(neededDpt, 'dpt')}`;
  return `${needs}, ${spare}, where ${kept}; the limit focuses ${whereInWords(atLimit)}`;
}

function whereInWords(focus: ReachEnd['atLimit']): string {
  if (focus.kind === 'beyond-infinity') return 'beyond infinity';
  if (focus.kind === 'behind-front') return 'inside the optics';
  return `at ${inWords(Number(focus.workingDistanceMm.toPrecision(3)), 'mm')}`;
}
