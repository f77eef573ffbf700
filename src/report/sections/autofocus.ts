import { focalPowerAt } from '../../optics/index.js';
import { type AutofocusRecord, layoutModelOf, type Station } from '../../station/index.js';
import { throughFocusFigure, throughFocusInput } from '../figures/index.js';
import { formatFixed, withUnit } from '../format-number.js';
import { type Child, element, type Markup } from '../markup.js';
import { sentence } from './heading.js';
import { estimateMarkup, type FigureBlocks, foldable, paragraph, section, table } from './parts.js';
import { allowedHalfWidthDpt, type HandoverInput } from './run.js';

/** Best focus at each distance, and what was refused; sweeps as figures. */
export function autofocusSection(input: HandoverInput, figures: FigureBlocks): Markup {
  const { commission, station } = input;
  const records = [...commission.autofocus].sort((a, b) => a.workingDistanceMm - b.workingDistanceMm);
  if (records.length === 0) {
    return section(
      'autofocus',
      'Autofocus',
      paragraph('No sweep was finished, so no best focus is known. Run the commissioning again.'),
    );
  }
  const refused = records.filter((record) => record.kind === 'refused');
  const shown = shownFirst(records);
  const rest = records.filter((record) => !shown.includes(record));
  const draw = (record: AutofocusRecord) => sweepFigure(input, record, figures);
  return section(
    'autofocus',
    'Autofocus',
    paragraph(
      `Found: as commanded, at the temperature of the lens during the sweep. Predicted: at ${withUnit(station.parts.tunableLens.referenceTemperatureDegC, '°C')}.`,
    ),
    table(
      'Best focus at each target distance',
      ['Working distance', 'Predicted', 'Found', 'Found less predicted', 'Frames', 'Time'],
      records.map((record) => tableRow(record, station)),
    ),
    refused.length > 0 &&
      element(
        'ul',
        { class: 'reasons' },
        refused.map((r) => refusal(r.workingDistanceMm, r.message, r.remedy)),
      ),
    element('div', { class: 'pair' }, shown.map(draw)),
    rest.length > 0 &&
      foldable(`The other ${rest.length} sweeps`, {}, element('div', { class: 'pair' }, rest.map(draw))),
  );
}

const refusal = (workingDistanceMm: number, message: string, remedy: string): Markup =>
  element(
    'li',
    {},
    element('strong', {}, `Refused at ${withUnit(workingDistanceMm, 'mm', 4)}. `),
    `${sentence(message)} `,
    element('em', {}, sentence(remedy)),
  );

/** Nearest, middle and farthest of the found ones, and the first refused one. */
function shownFirst(records: readonly AutofocusRecord[]): AutofocusRecord[] {
  const found = records.filter((record) => record.kind === 'found');
  const few = [found[0], found[Math.floor((found.length - 1) / 2)], found[found.length - 1]];
  const refused = records.filter((record) => record.kind === 'refused').slice(0, found.length > 0 ? 1 : 3);
  return [...new Set([...few, ...refused])].filter((record) => record !== undefined);
}

function predictedDpt(station: Station, workingDistanceMm: number): number | null {
  const power = focalPowerAt({ model: layoutModelOf(station), workingDistanceMm });
  return power.kind === 'power' ? power.focalPowerDpt : null;
}

function sweepFigure({ plan, station }: HandoverInput, record: AutofocusRecord, figures: FigureBlocks): Markup {
  const input = throughFocusInput(record, {
    predictedBestDpt: predictedDpt(station, record.workingDistanceMm),
    allowedHalfWidthDpt: allowedHalfWidthDpt(plan, record.workingDistanceMm),
  });
  return figures.block((size) => throughFocusFigure(input, size), { heightPx: 280, narrowHeightPx: 280, half: true });
}

function tableRow(record: AutofocusRecord, station: Station): Child[] {
  const predicted = predictedDpt(station, record.workingDistanceMm);
  const found = record.kind === 'found' ? record : null;
  const difference =
    found === null || predicted === null
      ? null
      : { value: found.focalPowerDpt - predicted, std: found.focalPowerStdDpt };
  return [
    withUnit(record.workingDistanceMm, 'mm', 4),
    predicted === null ? '–' : `${formatFixed(predicted, 3)} dpt`,
    found === null ? 'refused' : estimateMarkup({ value: found.focalPowerDpt, std: found.focalPowerStdDpt }, 'dpt'),
    estimateMarkup(difference, 'dpt'),
    String(record.frames),
    withUnit(record.elapsedMs, 'ms'),
  ];
}
