import type { CalibrationRecord } from '../../station/index.js';
import { formatNumber, withUnit } from '../format-number.js';
import { element } from '../markup.js';
import { colour } from '../theme.js';
import { axisRoomPx, bottomAxis, bottomRoomPx, leftAxis, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot, textWidthPx } from './figure.js';
import { clippedTo, measuredDot, type Point, polyline, requiredBand, tintedBand } from './marks.js';
import { type Box, drawLabels, type LabelWish, placeLabels } from './place-labels.js';

export interface CalibrationResidualsInput {
  calibration: CalibrationRecord;
  task: { nearMm: number; farMm: number };
  /** Half-width that depth of field allows, from the plan's focus budget; null where not known. */
  allowedHalfWidthDpt: number | null;
}

/**
 * What the calibrated curve leaves unexplained at each distance, with the 95 % band of a prediction. Where the
 * calibration was refused: measured less predicted power.
 *
 * Trust    error bars are ±1 standard uncertainty of the reading.
 */
export function calibrationResidualsFigure(
  { calibration, task, allowedHalfWidthDpt }: CalibrationResidualsInput,
  size: FigureSize,
): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const fitted = calibration.kind === 'fitted' ? calibration : null;
  const points = calibration.points
    .map((p) => ({
      distanceMm: p.workingDistanceMm,
      value: fitted ? p.residualDpt : p.measuredDpt.value - p.predictedDpt,
      std: p.measuredDpt.std,
    }))
    .filter((p) => Number.isFinite(p.distanceMm) && Number.isFinite(p.value));
  const curve = fitted?.curve ?? [];
  const reach = points.flatMap((p) => [p.value - (p.std ?? 0), p.value + (p.std ?? 0)]);
  const half = curve.flatMap((c) => [c.predicted95Dpt, -c.predicted95Dpt]);
  const plot: Plot = { leftPx: 0, rightPx: widthPx - 12, topPx: titleRoomPx + 18, bottomPx: heightPx - bottomRoomPx };
  const y = scaleOver([0, ...reach, ...half], [plot.bottomPx, plot.topPx], { padding: 0.12 });
  plot.leftPx = axisRoomPx(y, plot.bottomPx - plot.topPx);
  const x = scaleOver([task.nearMm, task.farMm, ...points.map((p) => p.distanceMm)], [plot.leftPx, plot.rightPx], {
    padding: 0.03,
  });
  const dots = points.map((p): Point => [x(p.distanceMm), y(p.value)]);
  const upper = curve.map((c): Point => [x(c.workingDistanceMm), y(c.predicted95Dpt)]);
  const lower = curve.map((c): Point => [x(c.workingDistanceMm), y(-c.predicted95Dpt)]);
  const allowedText =
    allowedHalfWidthDpt === null
      ? null
      : `depth of field (task contrast) allows ±${formatNumber(allowedHalfWidthDpt, 2)} dpt`;
  const taskText = `task ${formatNumber(task.nearMm, 4)}–${formatNumber(task.farMm, 4)} mm`;
  const head =
    allowedText !== null && textWidthPx(`${taskText}; ${allowedText}`) < widthPx - 16
      ? `${taskText}; ${allowedText}`
      : taskText;
  const body = [
    requiredBand({
      x1Px: x(task.nearMm),
      x2Px: x(task.farMm),
      y1Px: plot.topPx,
      y2Px: plot.bottomPx,
      edges: 'left-right',
    }),
    leftAxis({ scale: y, plot }),
    label(fitted ? 'Measured less calibrated, dpt' : 'Measured less predicted, dpt', { xPx: 2, yPx: 13 }),
    label(head, { xPx: widthPx - 12, yPx: plot.topPx - 7 }, { anchor: 'end', soft: true }),
    bottomAxis({ scale: x, plot, title: 'Working distance, mm' }),
    clippedTo(plot, tintedBand(upper, lower, 'measured')),
    allowedHalfWidthDpt !== null &&
      clippedTo(
        plot,
        [allowedHalfWidthDpt, -allowedHalfWidthDpt].map((limit) =>
          element('line', {
            x1: plot.leftPx,
            x2: plot.rightPx,
            y1: y(limit),
            y2: y(limit),
            stroke: colour('required-edge'),
            'stroke-width': 1.5,
          }),
        ),
      ),
    polyline(
      [
        [plot.leftPx, y(0)],
        [plot.rightPx, y(0)],
      ],
      { meaning: 'ink', widthPx: 1 },
    ),
    points.map((p, i) => measuredDot(dots[i]!, { y, value: p.value, halfBar: p.std })),
    drawLabels(
      placeLabels({
        wishes: wishes(upper, dots),
        bounds: plot,
        obstacles: [...obstaclesOf(dots, upper, lower), { ...plot, topPx: y(0) - 1, bottomPx: y(0) + 1 }],
      }),
    ),
  ];
  return figureOf({
    title: titleOf(calibration),
    description: descriptionOf({ calibration, task, allowedHalfWidthDpt }),
    size: { widthPx, heightPx },
    body,
  });
}

function wishes(upper: readonly Point[], dots: readonly Point[]): LabelWish[] {
  const [onBand, onDot] = [upper[Math.floor(upper.length / 2)], dots[dots.length - 1]];
  return [
    ...(onBand ? [{ text: '95 % of predictions', xPx: onBand[0], yPx: onBand[1], prefer: 'above' as const }] : []),
    ...(onDot ? [{ text: 'measured ±1σ', xPx: onDot[0], yPx: onDot[1], prefer: 'left' as const }] : []),
  ];
}

function obstaclesOf(dots: readonly Point[], ...lines: (readonly Point[])[]): Box[] {
  return [
    ...dots.map(([x, y]) => ({ leftPx: x - 5, rightPx: x + 5, topPx: y - 14, bottomPx: y + 14 })),
    ...lines.flat().map(([x, y]) => ({ leftPx: x - 2, rightPx: x + 2, topPx: y - 2, bottomPx: y + 2 })),
  ];
}

function titleOf(calibration: CalibrationRecord): string {
  if (calibration.kind === 'refused') return `No calibrated curve: ${calibration.message}`;
  const widest = calibration.curve.reduce((wide, c) => Math.max(wide, c.predicted95Dpt), 0);
  return `The calibrated curve leaves ${withUnit(calibration.residualRmsDpt, 'dpt', 2)} rms; a prediction holds within ±${withUnit(widest, 'dpt', 2)} (95 %)`;
}

function descriptionOf({ calibration, task, allowedHalfWidthDpt }: CalibrationResidualsInput): string {
  const allowed =
    allowedHalfWidthDpt === null
      ? ''
      : ` Depth of field by the task’s contrast allows ±${formatNumber(allowedHalfWidthDpt, 2)} dpt.`;
  const list = calibration.points
    .map((p) => `${withUnit(p.workingDistanceMm, 'mm', 4)}: ${withUnit(p.residualDpt, 'dpt', 2)}`)
    .join('; ');
  return `${titleOf(calibration)}. Residuals over ${formatNumber(task.nearMm, 4)} to ${withUnit(task.farMm, 'mm', 4)}: ${list || 'none'}.${allowed}`;
}
