import { type Child, element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import type { LinearScale } from './axis.js';
import { type Plot, px } from './figure.js';

/** A place in the drawing, px. */
export type Point = readonly [xPx: number, yPx: number];

/** The four meanings as marks: required is a band, predicted a line, measured dots with error bars. */
export type Meaning = 'required' | 'predicted' | 'measured';

/** Grey band with edges that the task requires, over the whole plot in one direction. */
export function requiredBand(box: {
  x1Px: number;
  x2Px: number;
  y1Px: number;
  y2Px: number;
  edges: 'left-right' | 'top-bottom';
}): Markup {
  const [x1, x2] = [Math.min(box.x1Px, box.x2Px), Math.max(box.x1Px, box.x2Px)];
  const [y1, y2] = [Math.min(box.y1Px, box.y2Px), Math.max(box.y1Px, box.y2Px)];
  const edge = { stroke: colour('required-edge'), 'stroke-width': 1 };
  return element(
    'g',
    {},
    element('rect', { x: x1, y: y1, width: x2 - x1, height: y2 - y1, fill: colour('required') }),
    box.edges === 'left-right'
      ? [x1, x2].map((x) => element('line', { x1: x, x2: x, y1, y2, ...edge }))
      : [y1, y2].map((y) => element('line', { x1, x2, y1: y, y2: y, ...edge })),
  );
}

/** A line through points in order; empty for fewer than two. */
export function polyline(
  points: readonly Point[],
  attributes: { meaning: Meaning | 'ink' | 'ink-soft'; dash?: string; widthPx?: number },
): Markup | null {
  if (points.length < 2) return null;
  return element('path', {
    d: pathThrough(points),
    fill: 'none',
    stroke: colour(attributes.meaning),
    'stroke-width': attributes.widthPx ?? 1.8,
    'stroke-dasharray': attributes.dash,
    'stroke-linejoin': 'round',
  });
}

/** Area between two runs of points, tinted in the hue of its meaning. */
export function tintedBand(upper: readonly Point[], lower: readonly Point[], meaning: Meaning): Markup | null {
  if (upper.length < 2 || lower.length < 2) return null;
  return element('path', {
    d: `${pathThrough([...upper, ...[...lower].reverse()])}Z`,
    fill: colour(meaning),
    'fill-opacity': 0.22,
  });
}

/** A measured point: a dot, with a bar of ±`halfBar` in the units of the scale. */
export function measuredDot(
  at: Point,
  { y, value, halfBar }: { y: LinearScale; value: number; halfBar: number | null },
): Markup {
  const [x, yPx] = at;
  const bar =
    halfBar !== null && Number.isFinite(halfBar) && halfBar > 0 ? [y(value - halfBar), y(value + halfBar)] : null;
  const line = { stroke: colour('measured'), 'stroke-width': 1.4 };
  return element(
    'g',
    {},
    bar && [
      element('line', { x1: x, x2: x, y1: bar[0], y2: bar[1], ...line }),
      bar.map((end) => element('line', { x1: x - 3, x2: x + 3, y1: end, y2: end, ...line })),
    ],
    element('circle', {
      cx: x,
      cy: yPx,
      r: 3.2,
      fill: colour('measured'),
      stroke: colour('paper'),
      'stroke-width': 0.8,
    }),
  );
}

/** Marks that may leave the plot, cut at its edges (a nested `svg` clips without needing an id). */
export function clippedTo(plot: Plot, ...children: Child[]): Markup {
  const [width, height] = [plot.rightPx - plot.leftPx, plot.bottomPx - plot.topPx];
  const viewBox = `${plot.leftPx} ${plot.topPx} ${width} ${height}`;
  return element('svg', { x: plot.leftPx, y: plot.topPx, width, height, viewBox }, ...children);
}

/** Straight lines through the points, to a hundredth of a pixel. */
function pathThrough(points: readonly Point[]): string {
  let path = '';
  for (const [x, y] of points) path += `${path === '' ? 'M' : 'L'}${px(x)},${px(y)}`;
  return path;
}
