import { type ScaleLinear, scaleLinear } from 'd3-scale';
import { formatFixed } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { fontPx, label, labels, type Plot, px, smallFontPx, strokes, textWidthPx } from './figure.js';

export type LinearScale = ScaleLinear<number, number>;

/** Below any quantity that is drawn: smaller spans count as none. */
const nothing = 1e-30;

/**
 * A linear scale that holds every finite value, with some air; a single value gets a span around it.
 *
 * Input    `padding`: air at each end as a share of the span
 */
export function scaleOver(
  values: readonly (number | null)[],
  range: readonly [number, number],
  { padding = 0.06 }: { padding?: number } = {},
): LinearScale {
  const finite = values.filter((value): value is number => value !== null && Number.isFinite(value));
  const low = finite.length ? finite.reduce((a, b) => Math.min(a, b)) : 0;
  const high = finite.length ? finite.reduce((a, b) => Math.max(a, b)) : 1;
  const span = high - low;
  const size = Math.max(Math.abs(low), Math.abs(high));
  const air = span > Math.max(size * 1e-9, nothing) ? span * padding : size > nothing ? size * 0.1 : 0.5;
  return scaleLinear()
    .domain([low - air, high + air])
    .range(range);
}

/** Ticks with texts that have as many decimals as the step needs. */
function ticksOf(scale: LinearScale, count: number): { value: number; text: string }[] {
  const values = scale.ticks(Math.max(2, count));
  const step = values.length > 1 ? values[1]! - values[0]! : 1;
  const decimals = Math.max(0, Math.min(12, -Math.floor(Math.log10(Math.abs(step)) + 1e-9)));
  return values.map((value) => ({ value, text: formatFixed(value, decimals) }));
}

/** Room left of the plot for the numbers of its vertical axis. */
export function axisRoomPx(scale: LinearScale, heightPx: number): number {
  const widths = ticksOf(scale, heightPx / 44).map(({ text }) => textWidthPx(text, smallFontPx));
  return 12 + widths.reduce((a, b) => Math.max(a, b), 10);
}

/** Horizontal axis below the plot; title with unit below its numbers. */
export function bottomAxis({ scale, plot, title }: { scale: LinearScale; plot: Plot; title: string }): Markup {
  const y = plot.bottomPx;
  let freeFrom = Number.NEGATIVE_INFINITY;
  const ticks = ticksOf(scale, (plot.rightPx - plot.leftPx) / 80).map(({ value, text }) => ({ x: scale(value), text }));
  const numbers = ticks.flatMap(({ x, text }) => {
    const half = textWidthPx(text, smallFontPx) / 2;
    if (x - half <= freeFrom) return [];
    freeFrom = x + half + 6;
    return [{ text, xPx: x, yPx: y + 17 }];
  });
  return element(
    'g',
    {},
    strokes([`M${px(plot.leftPx)} ${px(y)}H${px(plot.rightPx)}`, ...ticks.map(({ x }) => `M${px(x)} ${px(y)}v5`)]),
    labels(numbers, { anchor: 'middle', soft: true, sizePx: smallFontPx }),
    label(title, { xPx: (plot.leftPx + plot.rightPx) / 2, yPx: y + 33 }, { anchor: 'middle' }),
  );
}

/** Vertical axis left of the plot; its title stands level above it, so that nobody tilts the head. */
export function leftAxis({
  scale,
  plot,
  title = null,
}: {
  scale: LinearScale;
  plot: Plot;
  title?: string | null;
}): Markup {
  const x = plot.leftPx;
  const ticks = ticksOf(scale, (plot.bottomPx - plot.topPx) / 44).map(({ value, text }) => ({ y: scale(value), text }));
  return element(
    'g',
    {},
    strokes(
      ticks.map(({ y }) => `M${px(x)} ${px(y)}H${px(plot.rightPx)}`),
      { stroke: colour('rule'), 'stroke-width': 0.6 },
    ),
    strokes([
      `M${px(x)} ${px(plot.topPx)}V${px(plot.bottomPx)}`,
      ...ticks.map(({ y }) => `M${px(x - 5)} ${px(y)}H${px(x)}`),
    ]),
    labels(
      ticks.map(({ y, text }) => ({ text, xPx: x - 8, yPx: y + 4 })),
      { anchor: 'end', soft: true, sizePx: smallFontPx },
    ),
    title !== null && label(title, { xPx: 2, yPx: plot.topPx - fontPx + 2 }),
  );
}

/** Room below a plot for its horizontal axis, and above it for the title of the vertical one. */
export const bottomRoomPx = 40;
export const titleRoomPx = 24;
