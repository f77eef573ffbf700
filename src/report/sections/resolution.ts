import type { ResolutionReading } from '../../station/index.js';
import { edgeResponseFigure, framePictureFigure } from '../figures/index.js';
import { formatFixed, formatNumber, withUnit } from '../format-number.js';
import { type Child, element, type Markup } from '../markup.js';
import { sentence } from './heading.js';
import { estimateMarkup, type FigureBlocks, paragraph, section, table } from './parts.js';
import type { HandoverInput } from './run.js';

/** Edge response near, middle and far, beside its prediction; refused readings with their reason. */
export function resolutionSection({ commission, station, pictures }: HandoverInput, figures: FigureBlocks): Markup {
  const readings = commission.resolution;
  const { contrastNeeded } = station.task;
  if (readings.length === 0) {
    return section(
      'resolution',
      'Resolution check',
      paragraph(
        'No edge was read, so the resolution is not proven. Run the commissioning again with a target that shows a straight edge.',
      ),
    );
  }
  const refused = readings.flatMap(({ name, workingDistanceMm, result }) =>
    result.kind === 'refused' ? [{ name, workingDistanceMm, result }] : [],
  );
  return section(
    'resolution',
    'Resolution check',
    paragraph(
      'Edge response (the measurand of the e-SFR of ISO 12233, by a likelihood fit) on one edge at each distance; the task asks for contrast at 1 / (2 × smallest feature) on the object.',
    ),
    table(
      `Contrast at the task frequency, at least ${formatNumber(contrastNeeded)}`,
      ['Distance', 'Task frequency', 'Predicted', 'Measured', 'MTF50 predicted', 'MTF50 measured'],
      readings.map(tableRow),
    ),
    refused.length > 0 &&
      element(
        'ul',
        { class: 'reasons' },
        refused.map(({ name, workingDistanceMm, result }) =>
          element(
            'li',
            {},
            element('strong', {}, `Refused at ${name}, ${withUnit(workingDistanceMm, 'mm', 4)}. `),
            `${sentence(result.reason)} `,
            element('em', {}, sentence(result.remedy)),
          ),
        ),
      ),
    element(
      'div',
      { class: 'pair' },
      readings.map((reading) => {
        const picture = pictures.find(({ file }) => file === reading.frame);
        return [
          picture ? figures.picture(framePictureFigure({ reading, picture }, { widthPx: 452 })) : null,
          reading.result.kind === 'measured' &&
            figures.block((size) => edgeResponseFigure({ reading, contrastNeeded }, size), {
              heightPx: 290,
              narrowHeightPx: 290,
              half: true,
            }),
        ];
      }),
    ),
  );
}

function tableRow({ name, workingDistanceMm, result }: ResolutionReading): Child[] {
  const distance = `${name}, ${withUnit(workingDistanceMm, 'mm', 4)}`;
  if (result.kind === 'refused') return [distance, '–', '–', 'refused', '–', '–'];
  return [
    distance,
    withUnit(result.taskFrequencyPerPx, 'cycles/px'),
    formatFixed(result.predictedMtfAtTask, 3),
    estimateMarkup(result.mtfAtTask, ''),
    result.predictedMtf50PerPx === null ? '–' : withUnit(result.predictedMtf50PerPx, 'cycles/px'),
    estimateMarkup(result.mtf50PerPx, 'cycles/px'),
  ];
}
