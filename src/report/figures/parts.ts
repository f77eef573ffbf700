import { counted } from '../../base/index.js';
import type { FocusedPart, PartsSummary } from '../../station/index.js';
import { formatFixed, withUnit } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { axisRoomPx, bottomAxis, bottomRoomPx, leftAxis, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot, smallFontPx } from './figure.js';
import { measuredDot, polyline } from './marks.js';

/** A run of parts, ended or under way. */
export interface PartsInput {
  /** In their order; at least one. */
  parts: readonly FocusedPart[];
  /** null: not ended. */
  summary: PartsSummary | null;
}

/** No narrower than for so many parts. */
const fewestParts = 10;

/**
 * Focal power of parts in their order: as found (dots), as expected before (short lines with one standard deviation), refused
 * ones as crosses on the lower edge.
 */
export function partsFigure({ parts, summary }: PartsInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const [topPx, bottomPx] = [titleRoomPx, heightPx - bottomRoomPx];
  const found = parts.flatMap(({ number, result }) => (result.kind === 'found' ? [{ number, ...result }] : []));
  const refused = parts.filter(({ result }) => result.kind === 'refused');
  const byDistance = parts.flatMap(({ number, expected }) =>
    expected?.from === 'distance' ? [{ number, ...expected }] : [],
  );
  const y = scaleOver(
    [...found, ...byDistance].flatMap(({ focalPowerDpt, focalPowerStdDpt }) => [
      focalPowerDpt - focalPowerStdDpt,
      focalPowerDpt + focalPowerStdDpt,
    ]),
    [bottomPx - 14, topPx],
  );
  const plot: Plot = { leftPx: axisRoomPx(y, bottomPx - topPx), rightPx: widthPx - 14, topPx, bottomPx };
  const last = parts.at(-1)?.number ?? 1;
  const x = scaleOver([0, Math.max(fewestParts, last) + 1], [plot.leftPx, plot.rightPx], { padding: 0 });
  const halfPx = Math.max(2, Math.min(9, (x(1) - x(0)) * 0.4));
  const body = [
    leftAxis({ scale: y, plot, title: 'Focal power, dpt' }),
    bottomAxis({ scale: x, plot, title: 'Part' }),
    ...byDistance.map(({ number, focalPowerDpt, focalPowerStdDpt }) =>
      expectationMark({
        xPx: x(number),
        halfPx,
        low: y(focalPowerDpt - focalPowerStdDpt),
        middle: y(focalPowerDpt),
        high: y(focalPowerDpt + focalPowerStdDpt),
      }),
    ),
    ...found.map(({ number, focalPowerDpt, focalPowerStdDpt }) =>
      measuredDot([x(number), y(focalPowerDpt)], { y, value: focalPowerDpt, halfBar: focalPowerStdDpt }),
    ),
    ...refused.map(({ number }) => cross(x(number), bottomPx - 7)),
    refused.length > 0
      ? label('refused', { xPx: x(refused[0]!.number) + 8, yPx: bottomPx - 3 }, { soft: true, sizePx: smallFontPx })
      : null,
  ];
  return figureOf({
    title: titleOf({ parts, summary }),
    description: descriptionOf(parts),
    size: { widthPx, heightPx },
    body,
  });
}

function expectationMark(at: { xPx: number; halfPx: number; low: number; middle: number; high: number }): Markup {
  const { xPx, halfPx, low, middle, high } = at;
  return element(
    'g',
    {},
    element('rect', {
      x: xPx - halfPx,
      width: 2 * halfPx,
      y: Math.min(low, high),
      height: Math.abs(low - high),
      fill: colour('predicted'),
      'fill-opacity': 0.22,
    }),
    polyline(
      [
        [xPx - halfPx, middle],
        [xPx + halfPx, middle],
      ],
      { meaning: 'predicted', widthPx: 1.6 },
    ),
  );
}

const cross = (xPx: number, yPx: number): Markup =>
  element('path', {
    d: `M${(xPx - 4).toFixed(1)} ${(yPx - 4).toFixed(1)}l8 8m0 -8l-8 8`,
    stroke: colour('ink'),
    'stroke-width': 1.6,
    fill: 'none',
  });

function titleOf({ parts, summary }: PartsInput): string {
  const foundCount = parts.filter(({ result }) => result.kind === 'found').length;
  const head = `${foundCount} of ${counted(parts.length, 'part')} in focus`;
  if (summary?.medianFrameCount == null) return head;
  return `${head}, median ${counted(summary.medianFrameCount, 'frame')} and ${withUnit(summary.timeMedianMs!, 'ms', 2)} each`;
}

const descriptionOf = (parts: readonly FocusedPart[]): string =>
  `Focal power of each part as found beside what was expected: ${parts
    .map(({ number, result }) =>
      result.kind === 'found'
        ? `${number}: ${formatFixed(result.focalPowerDpt, 3)} dpt`
        : `${number}: refused, ${result.reason}`,
    )
    .join('; ')}.`;
