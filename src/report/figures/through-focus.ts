import { counted } from '../../base/index.js';
import type { AutofocusRecord } from '../../station/index.js';
import { estimateInWords, formatFixed, formatNumber, withUnit } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { axisRoomPx, bottomAxis, bottomRoomPx, leftAxis, scaleOver } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, type Plot } from './figure.js';
import { headBaselinePx, headLabels, headRowPx } from './head-labels.js';
import { measuredDot, polyline, requiredBand, tintedBand } from './marks.js';

/** A sweep as it stands, live or finished. */
export interface ThroughFocusInput {
  workingDistanceMm: number;
  /** Name of the focus measure. */
  measureName: string;
  /** What was seen so far; may be empty. Order does not matter. */
  points: readonly { focalPowerDpt: number; measure: number; measureStd: number | null }[];
  /** What the plan expects; null where it has no power for this distance. */
  predictedBestDpt: number | null;
  /** Half-width that depth of field allows around best focus, from the plan's focus budget; null where not known. */
  allowedHalfWidthDpt: number | null;
  /** Null while the sweep runs. */
  result:
    | { kind: 'found'; focalPowerDpt: number; focalPowerStdDpt: number }
    | { kind: 'refused'; message: string }
    | null;
  /** Powers the axis shows from the start, so that it stands still while points arrive; null: as far as the points go. */
  range: { minDpt: number; maxDpt: number } | null;
}

/** A recorded autofocus as input of the figure. */
export function throughFocusInput(
  record: AutofocusRecord,
  plan: { predictedBestDpt: number | null; allowedHalfWidthDpt: number | null },
): ThroughFocusInput {
  const { points, measure } = record.sweep;
  return {
    workingDistanceMm: record.workingDistanceMm,
    measureName: measure,
    points,
    ...plan,
    result: record.kind === 'found' ? record : { kind: 'refused', message: record.message },
    range: null,
  };
}

/**
 * Focus measure against focal power: points with error bars, predicted and found best focus, and what depth of field
 * allows around the found one (around the predicted one until then).
 *
 * Trust    error bars and the found band are ±1 standard uncertainty; the measure has no unit and compares only inside
 *          one sweep.
 */
export function throughFocusFigure(input: ThroughFocusInput, size: FigureSize): Figure {
  const { widthPx, heightPx } = drawableSize(size);
  const points = input.points.filter((p) => Number.isFinite(p.focalPowerDpt) && Number.isFinite(p.measure));
  const found = input.result?.kind === 'found' ? input.result : null;
  const best = found?.focalPowerDpt ?? input.predictedBestDpt;
  const allowed =
    best === null || input.allowedHalfWidthDpt === null ? null : { best, half: input.allowedHalfWidthDpt };
  const top = headRoomPx;
  const spreads = points.flatMap((p) => [p.measure - (p.measureStd ?? 0), p.measure + (p.measureStd ?? 0)]);
  const y = scaleOver(points.length ? [...spreads, 0] : [], [heightPx - bottomRoomPx, top]);
  const plot: Plot = {
    leftPx: axisRoomPx(y, heightPx - bottomRoomPx - top),
    rightPx: widthPx - 12,
    topPx: top,
    bottomPx: heightPx - bottomRoomPx,
  };
  const edges = allowed ? [allowed.best - allowed.half, allowed.best + allowed.half] : [];
  const span = [input.range?.minDpt ?? null, input.range?.maxDpt ?? null, ...points.map((p) => p.focalPowerDpt)];
  const x = scaleOver([...span, input.predictedBestDpt, best, ...edges], [plot.leftPx, plot.rightPx], {
    padding: 0.03,
  });
  const predictedXPx = input.predictedBestDpt === null ? null : x(input.predictedBestDpt);
  const foundXPx = found ? x(found.focalPowerDpt) : null;
  const head = headLabels(
    [
      { text: predictedText(input), atPx: predictedXPx, mark: 'predicted' },
      { text: foundText(input), atPx: foundXPx, mark: 'measured' },
      allowed && {
        text: `sharp within ±${formatNumber(allowed.half, 2)} dpt`,
        atPx: x(allowed.best),
        mark: 'required-edge',
      },
    ],
    plot,
  );
  const lineTopPx = (row: number) => (head.clear ? headBaselinePx(row) - 8 : plot.topPx);
  const dots = points.map((p) =>
    measuredDot([x(p.focalPowerDpt), y(p.measure)], { y, value: p.measure, halfBar: p.measureStd }),
  );
  const body = [
    allowed &&
      requiredBand({
        x1Px: x(edges[0]!),
        x2Px: x(edges[1]!),
        y1Px: plot.topPx,
        y2Px: plot.bottomPx,
        edges: 'left-right',
      }),
    label(`Focus measure (${input.measureName === '' ? '' : `${input.measureName}, `}no unit)`, { xPx: 2, yPx: 13 }),
    points.length > 0 ? leftAxis({ scale: y, plot }) : emptyAxis(plot, predictedXPx),
    bottomAxis({ scale: x, plot, title: 'Focal power, dpt' }),
    found &&
      spreadBand(
        x(found.focalPowerDpt - found.focalPowerStdDpt),
        x(found.focalPowerDpt + found.focalPowerStdDpt),
        plot,
      ),
    foundXPx !== null && vertical(foundXPx, lineTopPx(1), plot, 'measured'),
    predictedXPx !== null && vertical(predictedXPx, lineTopPx(0), plot, 'predicted'),
    dots,
    head.markup,
  ];
  return figureOf({
    title: titleOf(input),
    description: descriptionOf(input, points.length),
    size: { widthPx, heightPx },
    body,
  });
}

/** Room above the plot: title of the axis, three rows of labels. */
const headRoomPx = 20 + 3 * headRowPx + 8;

function vertical(xPx: number, topPx: number, plot: Plot, meaning: 'predicted' | 'measured'): Markup | null {
  return polyline(
    [
      [xPx, topPx],
      [xPx, plot.bottomPx],
    ],
    { meaning, dash: meaning === 'predicted' ? '6 4' : undefined },
  );
}

function spreadBand(x1Px: number, x2Px: number, plot: Plot): Markup | null {
  return tintedBand(
    [
      [x1Px, plot.topPx],
      [x2Px, plot.topPx],
    ],
    [
      [x1Px, plot.bottomPx],
      [x2Px, plot.bottomPx],
    ],
    'measured',
  );
}

/** The axis before there is anything to scale it by. */
function emptyAxis(plot: Plot, predictedXPx: number | null): Markup {
  const middle = (plot.leftPx + plot.rightPx) / 2;
  const left = predictedXPx === null || predictedXPx > middle;
  return element(
    'g',
    {},
    element('line', { x1: plot.leftPx, x2: plot.leftPx, y1: plot.topPx, y2: plot.bottomPx, stroke: colour('ink') }),
    label(
      'No frame yet',
      { xPx: left ? plot.leftPx + 14 : plot.rightPx - 14, yPx: (plot.topPx + plot.bottomPx) / 2 },
      { anchor: left ? 'start' : 'end', soft: true },
    ),
  );
}

const predictedText = ({ predictedBestDpt }: ThroughFocusInput): string =>
  predictedBestDpt === null ? 'no prediction here' : `predicted ${powerInWords(predictedBestDpt)}`;

const powerInWords = (powerDpt: number): string => `${formatFixed(powerDpt, 3)} dpt`;

function foundText({ result }: ThroughFocusInput): string {
  if (result === null) return 'no result yet';
  if (result.kind === 'refused') return 'refused: no best focus';
  return `found ${estimateInWords({ value: result.focalPowerDpt, std: result.focalPowerStdDpt }, 'dpt')}`;
}

function titleOf({ workingDistanceMm, result, points, predictedBestDpt }: ThroughFocusInput): string {
  const at = `at ${withUnit(workingDistanceMm, 'mm', 4)}`;
  if (result === null) return `Sweep ${at}: ${counted(points.length, 'frame')} so far`;
  if (result.kind === 'refused') return `No best focus ${at}: ${result.message}`;
  const found = estimateInWords({ value: result.focalPowerDpt, std: result.focalPowerStdDpt }, 'dpt');
  if (predictedBestDpt === null) return `Best focus ${at} is ${found}; no prediction`;
  const difference = result.focalPowerDpt - predictedBestDpt;
  const sign = difference < 0 ? '−' : '+';
  return `Best focus ${at} is ${found}, ${sign}${formatFixed(Math.abs(difference), 3)} dpt from the prediction`;
}

function descriptionOf(input: ThroughFocusInput, count: number): string {
  return (
    `Focus measure ${input.measureName} against focal power at ${withUnit(input.workingDistanceMm, 'mm', 4)}; ` +
    `${count} points with bars of one standard uncertainty. ${predictedText(input)}; ${foundText(input)}.`
  );
}
