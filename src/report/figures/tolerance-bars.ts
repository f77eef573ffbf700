import type { StationShare, ToleranceRecord } from '../../station/index.js';
import { formatFixed, sharePercent } from '../format-number.js';
import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { bottomAxis, bottomRoomPx, type LinearScale, scaleOver } from './axis.js';
import { drawableSize, type Figure, type FigureSize, figureOf, label, textWidthPx } from './figure.js';

export interface ToleranceBarsInput {
  tolerance: ToleranceRecord;
}

/** One row of bars. */
interface ShareRow {
  name: string;
  now: StationShare;
  after: StationShare;
}

const rowPx = 30;
const mostRows = 8;
const topPx = 26;

/**
 * Share of built stations that meets each requirement: as built (blue) and after a distance calibration (hollow), each
 * with its 95 % confidence interval. Every requirement together first, then those met least; what all stations meet is left out.
 *
 * Returns  higher than asked where the rows need it.
 */
export function toleranceBarsFigure({ tolerance }: ToleranceBarsInput, size: FigureSize): Figure {
  const asked = drawableSize(size);
  const rows = rowsOf(tolerance);
  const narrow = asked.widthPx < 560;
  const nameRoom = narrow ? 0 : 8 + Math.max(60, ...rows.map(({ name }) => textWidthPx(name)));
  const step = narrow ? rowPx + 16 : rowPx;
  const plot = {
    leftPx: Math.max(10, nameRoom + 4),
    rightPx: asked.widthPx - textWidthPx('99.9 % → 100 %') - 14,
    topPx,
    bottomPx: topPx + rows.length * step,
  };
  const x = scaleOver([0, 100], [plot.leftPx, plot.rightPx], { padding: 0 });
  const body =
    rows.length === 0
      ? [label(tolerance.refusal?.reason ?? 'No station has been built yet.', { xPx: 8, yPx: 30 }, { soft: true })]
      : [
          ...rows.map((row, i) => shareRow({ row, yPx: topPx + i * step, x, plot, narrow, first: i === 0 })),
          bottomAxis({ scale: x, plot, title: 'Share of built stations, %' }),
        ];
  return figureOf({
    title: titleOf(tolerance),
    description: descriptionOf(tolerance),
    size: { widthPx: asked.widthPx, heightPx: Math.max(asked.heightPx, plot.bottomPx + bottomRoomPx) },
    body,
  });
}

function rowsOf({ all, requirements }: ToleranceRecord): ShareRow[] {
  if (!all) return [];
  const open = requirements
    .filter(({ now, afterCalibration }) => now.share < 1 || afterCalibration.share < 1)
    .sort((a, b) => a.now.share - b.now.share)
    .slice(0, mostRows)
    .map(({ title, now, afterCalibration }) => ({ name: title, now, after: afterCalibration }));
  return [{ name: 'Every requirement', now: all.now, after: all.afterCalibration }, ...open];
}

function shareRow({
  row,
  yPx,
  x,
  plot,
  narrow,
  first,
}: {
  row: ShareRow;
  yPx: number;
  x: LinearScale;
  plot: { leftPx: number; rightPx: number };
  narrow: boolean;
  first: boolean;
}): Markup {
  const barsPx = narrow ? yPx + 18 : yPx + 3;
  const name = narrow
    ? label(row.name, { xPx: plot.leftPx, yPx: yPx + 13 }, { soft: !first })
    : label(row.name, { xPx: plot.leftPx - 8, yPx: yPx + 17 }, { anchor: 'end', soft: !first });
  const same = row.now.share === row.after.share;
  const shares = same
    ? sharePercent(row.now.share)
    : `${sharePercent(row.now.share)} → ${sharePercent(row.after.share)}`;
  return element(
    'g',
    {},
    name,
    element('rect', {
      x: x(0),
      y: barsPx,
      width: x(100 * row.now.share) - x(0),
      height: 10,
      fill: colour(first ? 'ink' : 'predicted'),
    }),
    element('rect', {
      x: x(0),
      y: barsPx + 13,
      width: x(100 * row.after.share) - x(0),
      height: 7,
      fill: colour('paper'),
      stroke: colour(first ? 'ink' : 'predicted'),
    }),
    interval(row.now, x, barsPx + 5),
    interval(row.after, x, barsPx + 16.5),
    label(shares, { xPx: plot.rightPx + 8, yPx: barsPx + 14 }, { soft: !first }),
  );
}

/** The confidence interval as a thin line with ends. */
function interval({ lowShare, highShare }: StationShare, x: LinearScale, yPx: number): Markup {
  const line = { stroke: colour('ink-soft'), 'stroke-width': 1.2 };
  const [low, high] = [x(100 * lowShare), x(100 * highShare)];
  return element(
    'g',
    {},
    element('line', { x1: low, x2: high, y1: yPx, y2: yPx, ...line }),
    [low, high].map((end) => element('line', { x1: end, x2: end, y1: yPx - 3, y2: yPx + 3, ...line })),
  );
}

function titleOf({ all, stationCount, refusal }: ToleranceRecord): string {
  if (!all)
    return refusal
      ? 'No station can be built within tolerances: a plane is focused by no power'
      : 'No station built yet';
  const count = formatFixed(stationCount, 0);
  return `Of ${count} stations built, ${sharePercent(all.now.share)} meet every requirement; ${sharePercent(all.afterCalibration.share)} after a distance calibration`;
}

function descriptionOf(record: ToleranceRecord): string {
  if (!record.all) return `${titleOf(record)}. ${record.refusal?.remedy ?? ''}`;
  const rows = record.requirements.map(({ title, now, afterCalibration, contributors }) => {
    const first = contributors[0];
    const most = first && now.share < 1 ? `, most by ${first.title}` : '';
    return `${title}: ${sharePercent(now.share)} (${sharePercent(now.lowShare)} to ${sharePercent(now.highShare)}), after calibration ${sharePercent(afterCalibration.share)}${most}`;
  });
  return `Share of built stations that meets each requirement, with 95 % confidence intervals. ${titleOf(record)}. ${rows.join('. ')}.`;
}
