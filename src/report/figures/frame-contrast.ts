import { formatNumber } from '../format-number.js';
import { element } from '../markup.js';
import { colour } from '../theme.js';
import { axisRoomPx, bottomAxis, bottomRoomPx, leftAxis, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot } from './figure.js';
import { clippedTo, measuredDot, type Point, polyline, tintedBand } from './marks.js';
import { type Box, drawLabels, type LabelWish, placeLabels } from './place-labels.js';

/** Contrast measured at one frequency. */
export interface MeasuredContrast {
  frequencyPerPx: number;
  value: number;
  std: number;
}

/** Measured points of one kind, e.g. bars that run one way. */
export interface ContrastSeries {
  name: string;
  /** Rings instead of dots, to tell two kinds apart without colour. */
  open?: boolean;
  /** A curve of many points: the band of ±2 standard deviations is tinted. */
  band?: boolean;
  points: readonly MeasuredContrast[];
}

export interface FrameContrastInput {
  title: string;
  /** What is on the vertical axis. */
  quantity: 'MTF' | 'Contrast';
  series: readonly ContrastSeries[];
  predicted: readonly { frequencyPerPx: number; value: number }[] | null;
  /** What the line says beside it. */
  predictedName: string;
  /** What the task needs: at least this contrast up to this frequency. */
  task: { frequencyPerPx: number; contrastNeeded: number } | null;
  /** A contrast from which a pattern counts as resolved. */
  criterionContrast: number | null;
}

const nyquistPerPx = 0.5;

/**
 * Contrast against frequency as one frame shows it: dots with bars of ±2 standard deviations, the predicted line, what the
 * task requires, and the criterion where there is one. Up to the Nyquist limit.
 */
export function frameContrastFigure(input: FrameContrastInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const { quantity, task, criterionContrast: criterion } = input;
  const series = input.series.map((one) => ({
    ...one,
    points: one.points.filter((p) => p.frequencyPerPx <= nyquistPerPx + 1e-9 && Number.isFinite(p.value)),
  }));
  const all = series.flatMap(({ points }) => points);
  const plot: Plot = { leftPx: 0, rightPx: widthPx - 12, topPx: titleRoomPx, bottomPx: heightPx - bottomRoomPx };
  const y = scaleOver([0, 1, ...all.map((p) => p.value + 2 * p.std)], [plot.bottomPx, plot.topPx], { padding: 0.02 });
  plot.leftPx = axisRoomPx(y, plot.bottomPx - plot.topPx);
  const x = scaleOver([0, nyquistPerPx], [plot.leftPx, plot.rightPx], { padding: 0 });
  const at = (p: { frequencyPerPx: number; value: number }): Point => [x(p.frequencyPerPx), y(p.value)];
  const edgeOf = (points: readonly MeasuredContrast[], sigmas: number): Point[] =>
    points.map((p) => at({ frequencyPerPx: p.frequencyPerPx, value: p.value + sigmas * p.std }));
  const predicted = (input.predicted ?? []).map(at);
  const inPlot = task !== null && task.frequencyPerPx <= nyquistPerPx;
  const taskXPx = task === null ? plot.leftPx : Math.min(plot.rightPx, x(task.frequencyPerPx));
  const wishes: LabelWish[] = [
    ...series.flatMap(({ name, points }): LabelWish[] => {
      const named = points[Math.floor((points.length - 1) * 0.35)];
      return named ? [{ text: name, xPx: at(named)[0], yPx: at(named)[1], prefer: 'right' }] : [];
    }),
    ...(predicted.length > 1 ? [lineWish(predicted, input.predictedName)] : []),
    ...(criterion === null
      ? []
      : [{ text: `resolved from ${formatNumber(criterion)}`, xPx: plot.rightPx - 130, yPx: y(criterion), soft: true }]),
  ];
  const obstacles: Box[] = [...all.map(at), ...predicted].map(([px, py]) => ({
    leftPx: px - 4,
    rightPx: px + 4,
    topPx: py - 6,
    bottomPx: py + 6,
  }));
  const edge = { stroke: colour('required-edge') };
  return figureOf({
    title: input.title,
    description: descriptionOf(input),
    size: { widthPx, heightPx },
    body: [
      task && [
        element('rect', {
          x: plot.leftPx,
          y: plot.topPx,
          width: taskXPx - plot.leftPx,
          height: y(task.contrastNeeded) - plot.topPx,
          fill: colour('required'),
        }),
        element('line', {
          x1: plot.leftPx,
          x2: taskXPx,
          y1: y(task.contrastNeeded),
          y2: y(task.contrastNeeded),
          ...edge,
        }),
        inPlot && element('line', { x1: taskXPx, x2: taskXPx, y1: plot.topPx, y2: plot.bottomPx, ...edge }),
        label(
          `task: ≥ ${formatNumber(task.contrastNeeded)} at ${formatNumber(task.frequencyPerPx)} cycles/px`,
          { xPx: plot.rightPx, yPx: 14 },
          { anchor: 'end', soft: true },
        ),
      ],
      leftAxis({ scale: y, plot, title: quantity }),
      bottomAxis({ scale: x, plot, title: 'Spatial frequency, cycles/px' }),
      criterion !== null &&
        element('line', {
          x1: plot.leftPx,
          x2: plot.rightPx,
          y1: y(criterion),
          y2: y(criterion),
          stroke: colour('ink-soft'),
          'stroke-dasharray': '2 3',
        }),
      clippedTo(
        plot,
        series.map(
          ({ points, band }) => band === true && tintedBand(edgeOf(points, 2), edgeOf(points, -2), 'measured'),
        ),
        polyline(predicted, { meaning: 'predicted' }),
      ),
      series.map(({ points, open }) =>
        points.map((p) => [
          measuredDot(at(p), { y, value: p.value, halfBar: 2 * p.std }),
          open === true && element('circle', { cx: at(p)[0], cy: at(p)[1], r: 1.6, fill: colour('paper') }),
        ]),
      ),
      ...drawLabels(placeLabels({ wishes, bounds: plot, obstacles })),
    ],
  });
}

function lineWish(points: readonly Point[], text: string): LabelWish {
  const [xPx, yPx] = points[Math.floor((points.length - 1) * 0.62)]!;
  return { text, xPx, yPx, prefer: 'right' };
}

function descriptionOf({ title, series, predicted, task }: FrameContrastInput): string {
  const counts = series.map(({ name, points }) => `${points.length} points (${name})`).join(', ');
  return `${title}. ${counts} with bars of two standard deviations against cycles per pixel${predicted ? ', beside the predicted line' : ''}${task ? `; the task needs ${formatNumber(task.contrastNeeded)} up to ${formatNumber(task.frequencyPerPx)} cycles per pixel` : ''}.`;
}
