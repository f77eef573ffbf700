import type { BarsReading, ReadElement, SeriesElement } from '../../../image/index.js';
import { formatNumber } from '../../../report/index.js';
import { textTable, withMinusSigns } from '../../output.js';
import { refusalText } from './write-measurement.js';

/** "group 2 element 3", or that there is none. */
export const elementName = (element: SeriesElement | null): string =>
  element === null ? 'none' : `group ${element.group} element ${element.element}`;

/** The last resolved elements and a table of all, coarse to fine. */
export function barsText(read: BarsReading): string {
  if (read.kind === 'refused') return refusalText(read);
  const { criterion, lastResolved, elements, sizeRatio, sizeRatioStd } = read;
  const named = (element: SeriesElement | null) =>
    element === null ? 'none' : `${elementName(element)}, ${formatNumber(element.lpPerMm)} lp/mm`;
  const rule = criterion.name === 'rayleigh-dip' ? "Rayleigh's dip of 26.5 %" : 'the modulation asked for';
  const rows = [...new Set(elements.map(({ group, element }) => `${group} ${element}`))].map((key) => {
    const both = elements.filter((e) => `${e.group} ${e.element}` === key);
    const first = both[0]!;
    return [
      `${first.group}/${first.element}`,
      formatNumber(first.lpPerMm),
      formatNumber(first.nominalBarWidthPx),
      cell(both.find(({ barsRun }) => barsRun === 'horizontal')),
      cell(both.find(({ barsRun }) => barsRun === 'vertical')),
    ];
  });
  return withMinusSigns(
    [
      `last resolved, contrast ≥ ${criterion.modulation.toFixed(3)} (${rule}):`,
      `  joint       ${named(lastResolved.joint)}`,
      `  horizontal  ${named(lastResolved.horizontal)}`,
      `  vertical    ${named(lastResolved.vertical)}`,
      `${elements.length} patterns, bars ${read.barsAre} than the ground, tilted ${read.tiltDeg.toFixed(1)}°; sizes are ${sizeRatio.toFixed(3)} ± ${sizeRatioStd.toFixed(3)} of what ${formatNumber(read.umPerPx)} µm per pixel gives`,
      '',
      textTable([['element', 'lp/mm', 'bar, px', 'horizontal bars', 'vertical bars'], ...rows]),
    ].join('\n'),
  );
}

const cell = (element: ReadElement | undefined): string =>
  element === undefined
    ? '–'
    : `${element.contrast.toFixed(3)} ± ${element.contrastStd.toFixed(3)} ${element.resolved ? '●' : '✕'}`;
