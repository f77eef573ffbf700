import { requirements, stageWords } from '../planning/index.js';
import type { FoundLayoutRecord, SearchRecord } from '../station/index.js';
import { textTable, verdictText } from './output.js';

/** Short headings of the margins. */
const headings: Record<(typeof requirements)[number], string> = {
  reachNear: 'near',
  reachFar: 'far',
  fieldWidth: 'width',
  fieldHeight: 'height',
  sampling: 'sampling',
  cornerLight: 'corner',
  contrast: 'contrast',
  focus: 'focus',
  signalToNoise: 'SNR',
  cycle: 'cycle',
};

/** The search as a page of text: the best layouts with their margins, then the rejected parts and why. */
export function searchText(record: SearchRecord, { top }: { top: number }): string {
  const shown = record.layouts.slice(0, top);
  const missed = Object.entries(record.missedCounts)
    .filter(([, count]) => count > 0)
    .map(([stage, count]) => `${stageWords[stage as keyof typeof stageWords]} ${grouped(count)}`);
  return [
    `${record.task}${record.invented ? ' (invented demonstration data)' : ''}: ${grouped(record.combinationCount)} combinations, ${grouped(record.predictionCount)} predicted in full`,
    `Ruled out at the first requirement missed: ${missed.join(' · ') || 'none'}`,
    '',
    headline(record, shown.length),
    '',
    ...(shown.length > 0 ? [textTable([partsHeading, ...shown.map(partsRow)]), ''] : []),
    ...(shown.length > 0
      ? [
          'Margins, as the share of the limit that is to spare (0 = just met):',
          textTable([['rank', ...requirements.map((key) => headings[key]), 'smallest'], ...shown.map(marginsRow)]),
          '',
        ]
      : []),
    ...rejected(record),
    ...record.assumptions.map((text) => `Assumed: ${text}`),
  ].join('\n');
}

function headline({ met, layouts, choiceCount }: SearchRecord, shownCount: number): string {
  if (layouts.length === 0) return 'No layout meets the task, and none comes near: see the rejected parts.';
  const which = shownCount < choiceCount ? `the best ${shownCount} of ${choiceCount}` : `${choiceCount}`;
  if (!met) return `No layout meets the task. Nearest misses, ${which}:`;
  return `Layouts that meet the task, ${which} choices of parts, each at its best setting (* = no other beats it everywhere):`;
}

const partsHeading = [
  'rank',
  'sensor',
  'fixed lens',
  'tunable lens',
  'place',
  'gap mm',
  'spacer',
  'f-number',
  'ring mm',
  'exposure ms',
  'verdict',
];

function partsRow(layout: FoundLayoutRecord): string[] {
  const { parts } = layout;
  return [
    rank(layout),
    parts.sensor,
    parts.fixedLens,
    parts.tunableLens,
    layout.tunableLensAt,
    String(layout.gapMm),
    parts.spacer,
    String(layout.fNumber),
    layout.ringDistanceMm === null ? 'infinity' : String(layout.ringDistanceMm),
    String(layout.exposureMs),
    verdictText(layout.verdict),
  ];
}

function marginsRow(layout: FoundLayoutRecord): string[] {
  const margins = requirements.map((key) => layout.margins[key]!.toFixed(2));
  return [rank(layout), ...margins, headings[layout.smallestRequirement as keyof typeof headings]];
}

const rank = ({ rank, onParetoFront }: FoundLayoutRecord) => `${rank}${onParetoFront ? ' *' : ''}`;

function rejected({ rejectedParts }: SearchRecord): string[] {
  if (rejectedParts.length === 0) return [];
  return [
    'Parts that are in no layout that meets the task:',
    ...rejectedParts.map(({ name, reason }) => `  ${name}: ${reason}.`),
    '',
  ];
}

const grouped = (count: number) => count.toLocaleString('en');
