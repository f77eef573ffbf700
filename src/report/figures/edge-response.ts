import type { ResolutionReading } from '../../station/index.js';
import { estimateInWords, formatFixed, formatNumber, withUnit } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { axisRoomPx, bottomAxis, bottomRoomPx, leftAxis, scaleOver, titleRoomPx } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot, smallFontPx } from './figure.js';
import { clippedTo, measuredDot, type Point, polyline } from './marks.js';
import { type Box, drawLabels, overlap, placeLabels } from './place-labels.js';
import { paragraphs } from './wrap-text.js';

export interface EdgeResponseInput {
  reading: ResolutionReading;
  /** Least MTF at the task's frequency. */
  contrastNeeded: number;
}

type Measured = Extract<ResolutionReading['result'], { kind: 'measured' }>;

/**
 * MTF from an edge beside its prediction: dots with bars of ±2 standard uncertainties, the predicted line, the zone that
 * the task requires (at least the needed contrast up to the task's frequency), and the edge spread as a small drawing.
 * A refused reading says why and what to do.
 */
export function edgeResponseFigure({ reading, contrastNeeded }: EdgeResponseInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const measured = reading.result.kind === 'measured' ? reading.result : null;
  const mtf = (measured?.mtf ?? []).filter((p) => [p.frequencyPerPx, p.value].every(Number.isFinite));
  const plot: Plot = { leftPx: 0, rightPx: widthPx - 12, topPx: titleRoomPx, bottomPx: heightPx - bottomRoomPx };
  const y = scaleOver([0, 1, contrastNeeded, ...mtf.map((p) => p.value + p.std)], [plot.bottomPx, plot.topPx], {
    padding: 0.02,
  });
  plot.leftPx = axisRoomPx(y, plot.bottomPx - plot.topPx);
  const x = scaleOver(
    [0, 0.5, measured?.taskFrequencyPerPx ?? null, ...mtf.map((p) => p.frequencyPerPx)],
    [plot.leftPx, plot.rightPx],
    { padding: 0 },
  );
  const predicted = (measured?.predictedMtf ?? []).map((p): Point => [x(p.frequencyPerPx), y(p.value)]);
  const dots = mtf.map((p): Point => [x(p.frequencyPerPx), y(p.value)]);
  const taskXPx = measured ? x(measured.taskFrequencyPerPx) : plot.rightPx;
  const busy = [...dots, ...predicted].map(
    ([px, py]): Box => ({ leftPx: px - 4, rightPx: px + 4, topPx: py - 6, bottomPx: py + 6 }),
  );
  const inset = measured ? edgeSpreadInset({ measured, plot, busy, taskXPx }) : null;
  const body = [
    requiredZone({ rightPx: taskXPx, plot, neededYPx: y(contrastNeeded), open: measured === null }),
    leftAxis({ scale: y, plot, title: 'MTF' }),
    bottomAxis({ scale: x, plot, title: 'Spatial frequency, cycles/px' }),
    clippedTo(plot, polyline(predicted, { meaning: 'predicted' })),
    mtf.map((p, i) => measuredDot(dots[i]!, { y, value: p.value, halfBar: p.std })),
    inset?.markup ?? null,
    label(taskText(measured, contrastNeeded), { xPx: plot.rightPx, yPx: 14 }, { anchor: 'end', soft: true }),
    measured &&
      labelsOf({
        plot,
        predicted,
        dots,
        taskXPx,
        obstacles: [...busy, ...(inset ? [inset.box] : [])],
      }),
    reading.result.kind === 'refused' &&
      paragraphs([`No reading: ${reading.result.reason}.`, reading.result.remedy], {
        xPx: plot.leftPx + 14,
        yPx: plot.topPx + 26,
        maxWidthPx: plot.rightPx - plot.leftPx - 28,
      }),
  ];
  return figureOf({
    title: titleOf(reading, contrastNeeded),
    description: descriptionOf(reading, contrastNeeded),
    size: { widthPx, heightPx },
    body,
  });
}

/** Grey: where the curve has to run up to the task's frequency. */
function requiredZone({
  rightPx,
  plot,
  neededYPx,
  open,
}: {
  rightPx: number;
  plot: Plot;
  neededYPx: number;
  open: boolean;
}): Markup {
  const edge = { stroke: colour('required-edge'), fill: 'none' };
  return element(
    'g',
    {},
    element('rect', {
      x: plot.leftPx,
      y: plot.topPx,
      width: rightPx - plot.leftPx,
      height: neededYPx - plot.topPx,
      fill: colour('required'),
    }),
    element('line', { x1: plot.leftPx, x2: rightPx, y1: neededYPx, y2: neededYPx, ...edge }),
    !open && element('line', { x1: rightPx, x2: rightPx, y1: plot.topPx, y2: plot.bottomPx, ...edge }),
  );
}

function labelsOf({
  plot,
  predicted,
  dots,
  taskXPx,
  obstacles,
}: {
  plot: Plot;
  predicted: Point[];
  dots: Point[];
  taskXPx: number;
  obstacles: Box[];
}): Markup[] {
  const line: Box = { leftPx: taskXPx - 1, rightPx: taskXPx + 1, topPx: plot.topPx, bottomPx: plot.bottomPx };
  const at = (points: readonly Point[], share: number) => points[Math.floor((points.length - 1) * share)];
  const [onLine, onDots] = [at(predicted, 0.5), at(dots, 0.3)];
  const placed = placeLabels({
    wishes: [
      ...(onDots ? [{ text: 'measured ±1σ', xPx: onDots[0], yPx: onDots[1], prefer: 'left' as const }] : []),
      ...(onLine ? [{ text: 'predicted', xPx: onLine[0], yPx: onLine[1], prefer: 'right' as const }] : []),
    ],
    bounds: plot,
    obstacles: [...obstacles, line],
  });
  return drawLabels(placed);
}

function taskText(measured: Measured | null, contrastNeeded: number): string {
  const needed = `task: ≥ ${formatNumber(contrastNeeded)}`;
  return measured ? `${needed} at ${formatNumber(measured.taskFrequencyPerPx)} cycles/px` : needed;
}

/** The edge spread, small, in a corner that holds neither dots nor line; null where there is none. */
function edgeSpreadInset({
  measured,
  plot,
  busy,
  taskXPx,
}: {
  measured: Measured;
  plot: Plot;
  busy: readonly Box[];
  taskXPx: number;
}): { markup: Markup; box: Box } | null {
  const points = measured.edgeSpread.filter((p) => Number.isFinite(p.positionPx) && Number.isFinite(p.value));
  if (points.length < 2) return null;
  const third = (plot.rightPx - plot.leftPx) * 0.34;
  const besideTask = plot.rightPx - taskXPx - 6;
  const width = besideTask >= 110 ? Math.min(third, besideTask) : third;
  const height = (plot.bottomPx - plot.topPx) * 0.36;
  const corner = (leftPx: number, topPx: number): Box => ({
    leftPx,
    rightPx: leftPx + width,
    topPx,
    bottomPx: topPx + height,
  });
  const corners = [corner(plot.rightPx - width, plot.topPx + 2), corner(plot.leftPx + 8, plot.bottomPx - height - 8)];
  const box = corners.find((candidate) => !busy.some((b) => overlap(candidate, b)));
  if (!box) return null;
  const x = scaleOver(
    points.map((p) => p.positionPx),
    [box.leftPx + 6, box.rightPx - 6],
    { padding: 0 },
  );
  const y = scaleOver(
    points.map((p) => p.value),
    [box.bottomPx - 20, box.topPx + 8],
  );
  const [first, last] = x.domain() as [number, number];
  const caption = `edge, ${formatNumber(first)} to ${formatNumber(last)} px`;
  const markup = element(
    'g',
    {},
    element('rect', { x: box.leftPx, y: box.topPx, width, height, fill: colour('paper-tint'), stroke: colour('rule') }),
    polyline(
      points.map((p) => [x(p.positionPx), y(p.value)] as const),
      { meaning: 'measured', widthPx: 1.4 },
    ),
    label(caption, { xPx: box.leftPx + 6, yPx: box.bottomPx - 6 }, { soft: true, sizePx: smallFontPx }),
  );
  return { markup, box };
}

function titleOf({ name, workingDistanceMm, result }: ResolutionReading, contrastNeeded: number): string {
  const at = `${name}, ${withUnit(workingDistanceMm, 'mm', 4)}`;
  if (result.kind === 'refused') return `No reading at ${at}: ${result.reason}`;
  const { mtfAtTask, predictedMtfAtTask } = result;
  return `Contrast at the task frequency is ${estimateInWords(mtfAtTask, '')} at ${at}; needed ${formatNumber(contrastNeeded)}, predicted ${formatFixed(predictedMtfAtTask, 3)}`;
}

function descriptionOf(reading: ResolutionReading, contrastNeeded: number): string {
  const { result } = reading;
  if (result.kind === 'refused') return `${titleOf(reading, contrastNeeded)}. ${result.remedy}`;
  const mtf50 = result.mtf50PerPx === null ? 'not reached' : estimateInWords(result.mtf50PerPx, 'cycles/px');
  const predicted50 = result.predictedMtf50PerPx === null ? 'none' : formatNumber(result.predictedMtf50PerPx);
  return (
    `MTF against spatial frequency from a ${result.orientation} edge at ${formatFixed(result.edgeAngleDeg, 2)}°, ` +
    `${result.mtf.length} points with bars of two standard uncertainties beside the predicted line. ${titleOf(reading, contrastNeeded)}. ` +
    `MTF50 ${mtf50} (predicted ${predicted50}).`
  );
}
