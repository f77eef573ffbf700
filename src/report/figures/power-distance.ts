import type { CalibrationRecord, PlanRecord, Station } from '../../station/index.js';
import { formatFixed, formatNumber, withUnit } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { axisRoomPx, bottomAxis, bottomRoomPx, leftAxis, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, fontPx, label, type Plot } from './figure.js';
import { clippedTo, measuredDot, type Point, polyline, requiredBand, tintedBand } from './marks.js';
import { type Box, drawLabels, type LabelWish, placeLabels } from './place-labels.js';
import { predictedCurve, shownDistances } from './power-curve.js';

export interface PowerDistanceInput {
  station: Station;
  plan: PlanRecord;
  /** Null or left out before a calibration. */
  calibration?: CalibrationRecord | null;
}

/**
 * Focal power against working distance: the predicted curve with its depth of field, the lens's limits, the task's
 * range; after a calibration the measured points and the calibrated curve with its 95 % band.
 *
 * Model    curve by focalPowerAt; depth of field (task contrast) as half-widths in dpt of the plan's planes, between
 *          them in a straight line over vergence, beyond the outermost as there
 * Trust    error bars are ±1 standard uncertainty, the band of the calibrated curve is 95 %.
 */
export function powerDistanceFigure(
  { station, plan, calibration = null }: PowerDistanceInput,
  size: FigureSize,
): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const curve = predictedCurve(station, plan);
  const fitted = calibration?.kind === 'fitted' ? calibration : null;
  const points = calibration?.points ?? [];
  const { powerMinDpt, powerMaxDpt } = plan.reach;
  const measuredPowers = points.map((p) => p.measuredDpt.value);
  const [topPx, bottomPx] = [titleRoomPx + fontPx + 6, heightPx - bottomRoomPx];
  const y = scaleOver([powerMinDpt, powerMaxDpt, ...measuredPowers], [bottomPx, topPx]);
  const plot: Plot = { leftPx: axisRoomPx(y, bottomPx - topPx), rightPx: widthPx - 12, topPx, bottomPx };
  const distances = [...shownDistances(station, plan), ...points.map((p) => p.workingDistanceMm)];
  const x = scaleOver(distances, [plot.leftPx, plot.rightPx], { padding: 0.01 });
  const at = (distanceMm: number, powerDpt: number): Point => [x(distanceMm), y(powerDpt)];

  const sharp = curve.filter((place) => place.sharpDpt !== null);
  const line = curve.map((place) => at(place.distanceMm, place.powerDpt));
  const calibrated = (fitted?.curve ?? []).map((c) => at(c.workingDistanceMm, c.focalPowerDpt));
  const dots = points.map((p) => at(p.workingDistanceMm, p.measuredDpt.value));
  const { nearMm, farMm } = station.task;
  const limits = [powerMaxDpt, powerMinDpt];

  const body = [
    requiredBand({ x1Px: x(nearMm), x2Px: x(farMm), y1Px: plot.topPx, y2Px: plot.bottomPx, edges: 'left-right' }),
    leftAxis({ scale: y, plot, title: 'Focal power, dpt' }),
    bottomAxis({ scale: x, plot, title: 'Working distance, mm' }),
    limits.map((limit) => limitLine(y(limit), plot)),
    clippedTo(
      plot,
      tintedBand(
        sharp.map((place) => at(place.distanceMm, place.sharpDpt![1])),
        sharp.map((place) => at(place.distanceMm, place.sharpDpt![0])),
        'predicted',
      ),
      fitted &&
        tintedBand(
          fitted.curve.map((c) => at(c.workingDistanceMm, c.focalPowerDpt + c.predicted95Dpt)),
          fitted.curve.map((c) => at(c.workingDistanceMm, c.focalPowerDpt - c.predicted95Dpt)),
          'measured',
        ),
      polyline(line, { meaning: 'predicted' }),
      polyline(calibrated, { meaning: 'measured', widthPx: 1.2 }),
    ),
    points.map((p, i) => measuredDot(dots[i]!, { y, value: p.measuredDpt.value, halfBar: p.measuredDpt.std })),
    drawLabels(
      placeLabels({
        wishes: wishesOf({
          line,
          bandText: depthText(plan),
          calibrated,
          dots,
          plot,
          yMaxPx: y(powerMaxDpt),
          yMinPx: y(powerMinDpt),
          plan,
        }),
        bounds: plot,
        obstacles: [
          ...alongLine(line),
          ...alongLine(calibrated),
          ...dots.map(around),
          ...limits.map((limit) => limitBox(y(limit), plot)),
        ],
      }),
    ),
    taskLabel({ station, xNearPx: x(nearMm), xFarPx: x(farMm), plot }),
  ];
  return figureOf({
    title: titleOf(station, plan, fitted),
    description: descriptionOf({ station, plan, calibration }),
    size: { widthPx, heightPx },
    body,
  });
}

const limitLine = (yPx: number, plot: Plot): Markup =>
  element('line', {
    x1: plot.leftPx,
    x2: plot.rightPx,
    y1: yPx,
    y2: yPx,
    stroke: colour('ink'),
    'stroke-dasharray': '2 3',
  });

const limitBox = (yPx: number, plot: Plot): Box => ({
  leftPx: plot.leftPx,
  rightPx: plot.rightPx,
  topPx: yPx - 1,
  bottomPx: yPx + 1,
});

const around = ([x, y]: Point): Box => ({ leftPx: x - 5, rightPx: x + 5, topPx: y - 5, bottomPx: y + 5 });

/** Small boxes along a line, so that labels keep off it. */
function alongLine(points: readonly Point[]): Box[] {
  return points.map(([x, y]) => ({ leftPx: x - 3, rightPx: x + 3, topPx: y - 2, bottomPx: y + 2 }));
}

function wishesOf({
  line,
  bandText,
  calibrated,
  dots,
  plot,
  yMaxPx,
  yMinPx,
  plan,
}: {
  line: Point[];
  bandText: string | null;
  calibrated: Point[];
  dots: Point[];
  plot: Plot;
  yMaxPx: number;
  yMinPx: number;
  plan: PlanRecord;
}): LabelWish[] {
  const share = (points: readonly Point[], part: number) => points[Math.floor((points.length - 1) * part)];
  const wish = (point: Point | undefined, text: string, prefer: LabelWish['prefer'], soft = false): LabelWish[] =>
    point ? [{ text, xPx: point[0], yPx: point[1], prefer, soft }] : [];
  const { powerMinDpt, powerMaxDpt } = plan.reach;
  return [
    ...wish(share(line, 0.12), 'predicted', 'right'),
    ...(bandText === null ? [] : wish(share(line, 0.93), bandText, 'above', true)),
    ...wish(share(dots, 0.6), 'measured', 'right'),
    ...wish(share(calibrated, 0.85), 'calibrated', 'right'),
    ...wish([plot.rightPx - 70, yMaxPx], `lens limit ${formatNumber(powerMaxDpt)} dpt`, 'below', true),
    ...wish([plot.rightPx - 70, yMinPx], `lens limit ${formatNumber(powerMinDpt)} dpt`, 'above', true),
  ];
}

/** `depth of field (task contrast) ±0.09 dpt`, the smallest half-width of the planes; null where the task's contrast is not reached. */
function depthText({ budget }: PlanRecord): string | null {
  const halves = budget.map(({ allowedHalfWidthDpt }) => allowedHalfWidthDpt).filter((halfDpt) => halfDpt > 0);
  return halves.length === 0 ? null : `depth of field (task contrast) ±${formatNumber(Math.min(...halves), 2)} dpt`;
}

/** Above the plot, where nothing else stands. */
function taskLabel({
  station,
  xNearPx,
  xFarPx,
  plot,
}: {
  station: Station;
  xNearPx: number;
  xFarPx: number;
  plot: Plot;
}): Markup {
  const { nearMm, farMm } = station.task;
  const text = `task ${formatNumber(nearMm, 4)}–${formatNumber(farMm, 4)} mm`;
  const xPx = Math.min(plot.rightPx - 66, Math.max(plot.leftPx + 66, (xNearPx + xFarPx) / 2));
  return label(text, { xPx: Math.max(xPx, 180), yPx: plot.topPx - 6 }, { anchor: 'middle', soft: true });
}

/** `310–720 mm`, `310 mm to infinity`; null where nothing is reached. */
function reachInWords({ reach }: PlanRecord): string | null {
  if (reach.nearMm === null) return null;
  if (reach.farIsInfinite) return `${withUnit(reach.nearMm, 'mm')} to infinity`;
  if (reach.farMm === null) return `from ${withUnit(reach.nearMm, 'mm')}`;
  return `${formatNumber(reach.nearMm)}–${withUnit(reach.farMm, 'mm')}`;
}

/** Mean of measured less predicted power, in words. */
function deviationInWords(fitted: (CalibrationRecord & { kind: 'fitted' }) | null): string {
  if (fitted === null || fitted.points.length === 0) return '';
  const sum = fitted.points.reduce((total, p) => total + p.measuredDpt.value - p.predictedDpt, 0);
  const mean = sum / fitted.points.length;
  return `; measured powers lie ${formatFixed(Math.abs(mean), 3)} dpt ${mean < 0 ? 'below' : 'above'} the prediction on average`;
}

function titleOf({ task }: Station, plan: PlanRecord, fitted: (CalibrationRecord & { kind: 'fitted' }) | null): string {
  const needs = `the task needs ${formatNumber(task.nearMm, 4)}–${withUnit(task.farMm, 'mm', 4)}`;
  const reaches = reachInWords(plan);
  return reaches === null
    ? `No distance can be brought into focus; ${needs}`
    : `Focus reaches ${reaches}; ${needs}${deviationInWords(fitted)}`;
}

function descriptionOf({ station, plan, calibration }: Required<PowerDistanceInput>): string {
  const planes = plan.planes.map(
    (plane) =>
      `${plane.name} ${withUnit(plane.workingDistanceMm, 'mm', 4)}: ${plane.focalPowerDpt === null ? 'out of reach' : withUnit(plane.focalPowerDpt, 'dpt', 4)}`,
  );
  const depth = plan.planes.some((plane) => plane.depthOfField.taskContrast !== null)
    ? 'The tinted band is depth of field by the task’s contrast, between the planned planes interpolated.'
    : 'No depth of field is drawn: the task’s contrast is not reached even in focus.';
  const measured =
    calibration === null
      ? ''
      : calibration.kind === 'fitted'
        ? ` ${calibration.points.length} measured points with bars of one standard uncertainty; the calibrated curve leaves residuals of ${withUnit(calibration.residualRmsDpt, 'dpt', 2)} rms, its band is 95 %.`
        : ` ${calibration.points.length} measured points, no calibrated curve: ${calibration.message}`;
  return `Focal power against working distance for ${station.station}. ${titleOf(station, plan, calibration?.kind === 'fitted' ? calibration : null)}. Lens limits ${formatNumber(plan.reach.powerMinDpt)} to ${withUnit(plan.reach.powerMaxDpt, 'dpt')}. Predicted: ${planes.join('; ')}. ${depth}${measured}`;
}
