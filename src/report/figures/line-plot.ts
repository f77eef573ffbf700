import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { bottomAxis, type LinearScale, leftAxis } from './axis.js';
import { label, type Plot } from './figure.js';
import { clippedTo, type Point, polyline } from './marks.js';
import { type Box, drawLabels, type LabelWish, placeLabels } from './place-labels.js';

/** A predicted line with its direct label. */
export interface PlottedLine {
  points: readonly (readonly [xValue: number, yValue: number])[];
  /** Null: not named; a line beside says it. */
  name: string | null;
  /** Share of the line at which the name would stand. */
  nameShare: number;
  dash?: string | undefined;
  widthPx?: number;
  /** Where the name would rather stand. */
  prefer?: LabelWish['prefer'];
}

/** What the task requires: values inside the box are right. */
export interface RequiredBox {
  x: readonly [from: number, to: number];
  y: readonly [from: number, to: number];
  /** Edges that bound what is right; the others are only where the drawing ends. */
  edges: readonly ('left' | 'right' | 'bottom')[];
  /** Stands inside, over the lower edge at the left. */
  name: string;
}

/** Dashes of near, middle and far, the same as in the ray drawing. */
export const planeDashes = [undefined, '7 3', '2 3'] as const;

/** Boxes along a line at most this far apart, so that no label stands on a steep part. */
const obstacleStepPx = 5;

/**
 * Axes, what is required, and lines with direct labels that keep off them.
 *
 * Returns  marks in drawing order; a name without a free place is left out, the description of the figure holds it.
 */
export function linePlot({
  plot,
  x,
  y,
  lines,
  required,
  axes,
  marks = [],
}: {
  plot: Plot;
  x: LinearScale;
  y: LinearScale;
  lines: readonly PlottedLine[];
  required: RequiredBox | null;
  /** Titles of the axes; null leaves the title, and for the horizontal one its numbers, to another plot. */
  axes: { x: string | null; y: string | null };
  /** Points to be marked with a ring, each with its text. */
  marks?: readonly { at: readonly [xValue: number, yValue: number]; text: string; prefer?: LabelWish['prefer'] }[];
}): (Markup | null)[] {
  const drawn = lines.map((line) => line.points.map(([xValue, yValue]): Point => [x(xValue), y(yValue)]));
  const rings = marks.map((mark): Point => [x(mark.at[0]), y(mark.at[1])]);
  const wishes: LabelWish[] = [
    ...marks.map(({ text, prefer }, i) => ({ text, xPx: rings[i]![0], yPx: rings[i]![1], prefer })),
    ...lines.flatMap((line, i) => {
      const at = drawn[i]![Math.floor((drawn[i]!.length - 1) * line.nameShare)];
      return line.name === null || at === undefined
        ? []
        : [{ text: line.name, xPx: at[0], yPx: at[1], prefer: line.prefer, soft: true }];
    }),
    ...(required ? [requiredWish(required, x, y)] : []),
  ];
  const obstacles = [
    ...drawn.flatMap(alongLine),
    ...rings.map(([xPx, yPx]) => ({ leftPx: xPx - 6, rightPx: xPx + 6, topPx: yPx - 6, bottomPx: yPx + 6 })),
    ...(required
      ? edgeLines(required, x, y, plot).flatMap(({ x1, x2, y1, y2 }) =>
          alongLine([
            [x1, y1],
            [x2, y2],
          ]),
        )
      : []),
  ];
  return [
    required && requiredMark(required, x, y, plot),
    leftAxis({ scale: y, plot, title: axes.y }),
    axes.x === null
      ? element('line', {
          x1: plot.leftPx,
          x2: plot.rightPx,
          y1: plot.bottomPx,
          y2: plot.bottomPx,
          stroke: colour('ink'),
        })
      : bottomAxis({ scale: x, plot, title: axes.x }),
    clippedTo(
      plot,
      lines.map(({ dash, widthPx }, i) =>
        polyline(drawn[i]!, {
          meaning: 'predicted',
          ...(dash !== undefined && { dash }),
          ...(widthPx !== undefined && { widthPx }),
        }),
      ),
    ),
    ...rings.map(([cx, cy]) =>
      element('circle', { cx, cy, r: 4, fill: colour('paper'), stroke: colour('predicted'), 'stroke-width': 1.8 }),
    ),
    ...drawLabels(placeLabels({ wishes, bounds: plot, obstacles })),
  ];
}

function requiredMark(box: RequiredBox, x: LinearScale, y: LinearScale, plot: Plot): Markup {
  const { left, right, top, bottom } = boxPx(box, x, y, plot);
  return element(
    'g',
    {},
    element('rect', {
      x: left,
      y: top,
      width: Math.max(0, right - left),
      height: Math.max(0, bottom - top),
      fill: colour('required'),
    }),
    edgeLines(box, x, y, plot).map((line) =>
      element('line', { ...line, stroke: colour('required-edge'), 'stroke-width': 1 }),
    ),
  );
}

function edgeLines(box: RequiredBox, x: LinearScale, y: LinearScale, plot: Plot) {
  const { left, right, top, bottom } = boxPx(box, x, y, plot);
  const ends = {
    left: { x1: left, x2: left, y1: top, y2: bottom },
    right: { x1: right, x2: right, y1: top, y2: bottom },
    bottom: { x1: left, x2: right, y1: bottom, y2: bottom },
  };
  return box.edges.map((edge) => ends[edge]);
}

function boxPx({ x: [x1, x2], y: [y1, y2] }: RequiredBox, x: LinearScale, y: LinearScale, plot: Plot) {
  const within = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value));
  return {
    left: within(x(x1), plot.leftPx, plot.rightPx),
    right: within(x(x2), plot.leftPx, plot.rightPx),
    top: within(y(y2), plot.topPx, plot.bottomPx),
    bottom: within(y(y1), plot.topPx, plot.bottomPx),
  };
}

const requiredWish = ({ name, x: [left], y: [bottom] }: RequiredBox, x: LinearScale, y: LinearScale): LabelWish => ({
  text: name,
  xPx: x(left) - 2,
  yPx: y(bottom) - 9,
  prefer: 'right',
  soft: true,
});

function alongLine(points: readonly Point[]): Box[] {
  const boxes: Box[] = [];
  for (let i = 1; i < points.length; i++) {
    const [x1, y1] = points[i - 1]!;
    const [x2, y2] = points[i]!;
    const steps = Math.max(1, Math.min(60, Math.ceil(Math.hypot(x2 - x1, y2 - y1) / obstacleStepPx)));
    for (let k = 0; k < steps; k++) {
      const [xPx, yPx] = [x1 + ((x2 - x1) * k) / steps, y1 + ((y2 - y1) * k) / steps];
      boxes.push({ leftPx: xPx - 3, rightPx: xPx + 3, topPx: yPx - 3, bottomPx: yPx + 3 });
    }
  }
  return boxes;
}

/** A text over a plot, cut to a shorter one where there is no room. */
export function plotHeading(texts: readonly string[], plot: Plot, fits: (text: string) => boolean): Markup {
  const text = texts.find(fits) ?? texts.at(-1)!;
  return label(text, { xPx: plot.leftPx, yPx: plot.topPx - 8 });
}
