import { byUrgency, formatFixed } from '../report/index.js';
import type { DepthOfFieldRecord, PlanRecord, SharpnessRecord } from '../station/index.js';
import { ledgerLine, textTable, verdictText, withMinusSigns } from './output.js';
import { planDetailsText } from './plan-details-text.js';

/** The plan as a page of text. */
export function planText(plan: PlanRecord, sharpness: SharpnessRecord): string {
  const { reach } = plan;
  const far = reach.farIsInfinite ? 'infinity' : reach.farMm === null ? 'nowhere' : `${reach.farMm.toFixed(1)} mm`;
  const reached = reach.nearMm === null ? 'no distance' : `${reach.nearMm.toFixed(1)} mm to ${far}`;
  const planes = plan.planes.map((p) => [
    p.name,
    p.workingDistanceMm.toFixed(1),
    p.focalPowerDpt === null ? 'out of reach' : formatFixed(p.focalPowerDpt, 3),
    p.magnification.toFixed(4),
    `${p.fieldWidthMm.toFixed(1)} × ${p.fieldHeightMm.toFixed(1)}`,
    p.workingFNumber.toFixed(2),
    depthText(p.depthOfFieldMm),
    p.mtfAtTask.toFixed(3),
    p.signalToNoise.toFixed(0),
  ]);
  const ledger = byUrgency(plan.ledger).map(ledgerLine);
  const page = [
    `${plan.station}${plan.invented ? ' (invented demonstration data)' : ''}: ${verdictText(plan.verdict)}`,
    '',
    `Focus reaches ${reached} (powers ${reach.powerMinDpt} to ${reach.powerMaxDpt} dpt).`,
    '',
    textTable([
      [
        'plane',
        'distance mm',
        'power dpt',
        'magnification',
        'field mm',
        'working f-number',
        'depth of field* mm',
        'MTF at task',
        'SNR',
      ],
      ...planes,
    ]),
    '* by the task’s contrast, both sides together; other criteria below',
    ...planDetailsText(plan),
    '',
    ...sharpnessTable(sharpness),
    '',
    ...depthTable(plan),
    '',
    ...ledger,
    ...section('Assumed', plan.assumptions),
    ...section('Caution', plan.cautions),
  ].join('\n');
  return withMinusSigns(page);
}

const depthText = (depthMm: number | null): string =>
  depthMm === null ? 'to infinity' : depthMm === 0 ? 'none' : depthMm.toFixed(2);

/** Contrast and the finest pattern at each plane, centre and corner. */
function sharpnessTable({ planes, threeBarCriterion }: SharpnessRecord): string[] {
  if (planes.length === 0) return [];
  const rows = planes.map((p) => [
    p.name,
    `${p.mtfAtTask.toFixed(3)} / ${p.cornerMtfAtTask.toFixed(3)}`,
    `${period(p.finestCentre)} / ${period(p.finestCorner)}`,
    p.finestCentre ? p.finestCentre.objectFrequencyPerMm.toFixed(2) : 'none',
    p.finestCentre ? p.finestCentre.limitedBy : '–',
    p.threeBar ? `${p.threeBar.group} / ${p.threeBar.element}` : 'none',
    p.light.unvignettedFieldMm === null ? 'all' : p.light.unvignettedFieldMm.toFixed(0),
    `${(100 * p.light.relativeIllumination.at(-1)!).toFixed(0)} %`,
  ]);
  return [
    textTable([
      [
        'plane',
        'MTF at task, centre / corner',
        'finest period µm, centre / corner',
        'finest lp/mm',
        'ended by',
        'three-bar group / element',
        'uncut field mm',
        'corner light',
      ],
      ...rows,
    ]),
    `Finest: contrast as the task needs it. Three bars: ${threeBarCriterion}. Corner: at most; see Assumed.`,
  ];
}

const period = (finest: SharpnessRecord['planes'][number]['finestCentre']): string =>
  finest ? finest.objectPeriodUm.toFixed(1) : 'none';

/** Depth of field by each criterion: towards the camera and away from it. */
function depthTable({ planes }: PlanRecord): string[] {
  const rows = planes.map(({ name, workingDistanceMm, depthOfField }) => [
    name,
    ...[depthOfField.taskContrast, depthOfField.blurDisc, depthOfField.quarterWave].map((depth) =>
      sides(depth, workingDistanceMm),
    ),
  ]);
  return [textTable([['depth of field mm', 'task contrast', 'blur disc', 'quarter wave'], ...rows])];
}

function sides(depth: DepthOfFieldRecord | null, workingDistanceMm: number): string {
  if (depth === null) return 'none';
  const far = depth.farMm === null ? 'to infinity' : `+${(depth.farMm - workingDistanceMm).toFixed(2)}`;
  return `−${(workingDistanceMm - depth.nearMm).toFixed(2)} ${far}`;
}

function section(title: string, lines: readonly string[]): string[] {
  return lines.length ? ['', ...lines.map((line) => `${title}: ${line}`)] : [];
}
