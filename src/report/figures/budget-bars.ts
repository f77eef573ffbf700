import type { BudgetTerm, FocusBudget } from '../../station/index.js';
import { formatNumber, withUnit } from '../format-number.js';
import { type Child, element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { bottomAxis, bottomRoomPx, type LinearScale, scaleOver } from './axis.js';
import {
  drawableSize,
  type Figure,
  type FigureSize,
  figureOf,
  label,
  labels,
  type Plot,
  px,
  strokes,
  textWidthPx,
} from './figure.js';
import { requiredBand } from './marks.js';

export interface BudgetBarsInput {
  budget: readonly FocusBudget[];
}

/** Names of the terms in words; the same in ledger and report. */
export const budgetTermNames: Record<BudgetTerm['name'], string> = {
  'control-step': 'control step',
  repeatability: 'repeatability',
  hysteresis: 'hysteresis',
  temperature: 'temperature',
  calibration: 'calibration',
};

const mostPanels = 3;
const rowPx = 18;

/**
 * What moves the focus at each plane, against the half-width that depth of field allows (grey): each term as a bar of one
 * standard deviation with a thin line to its largest value; all together as two standard deviations and as worst case.
 * Of more than three planes the three with least margin are shown.
 *
 * Returns  higher than asked where the rows need it.
 */
export function budgetBarsFigure({ budget }: BudgetBarsInput, size: FigureSize): Figure {
  const asked = drawableSize(size);
  const shown = leastMargin(budget);
  const rows = Math.max(2, ...shown.map((plane) => plane.terms.length + 2));
  const panelPx = 26 + rows * rowPx;
  const nameRoom = textWidthPx('all together, 2σ') + 8;
  const sideBySide = asked.widthPx >= nameRoom + shown.length * 220;
  const needed = (sideBySide ? 1 : Math.max(1, shown.length)) * panelPx + bottomRoomPx;
  const heightPx = Math.max(asked.heightPx, needed);
  const plots = shown.map((_, i): Plot => {
    if (!sideBySide)
      return { leftPx: nameRoom, rightPx: asked.widthPx - 44, topPx: 26 + i * panelPx, bottomPx: (i + 1) * panelPx };
    const width = (asked.widthPx - nameRoom) / shown.length;
    return {
      leftPx: nameRoom + i * width + (i > 0 ? 12 : 0),
      rightPx: nameRoom + (i + 1) * width - 44,
      topPx: 26,
      bottomPx: 26 + rows * rowPx,
    };
  });
  const values = shown.flatMap((p) => [p.worstCaseDpt, spreadDpt(p), p.allowedHalfWidthDpt]);
  const panels = shown.map((plane, i) => {
    const x = scaleOver([0, ...values], [plots[i]!.leftPx, plots[i]!.rightPx], { padding: 0 });
    return panel({
      plane,
      plot: plots[i]!,
      x,
      named: !sideBySide || i === 0,
      axis: sideBySide || i === shown.length - 1,
    });
  });
  const body =
    shown.length > 0
      ? panels
      : [label('No focus budget: the plan has no plane in reach.', { xPx: 8, yPx: 30 }, { soft: true })];
  return figureOf({
    title: titleOf(budget),
    description: descriptionOf(budget, shown.length),
    size: { widthPx: asked.widthPx, heightPx },
    body,
  });
}

/** Two standard deviations of all terms together: what is compared with depth of field. */
const spreadDpt = ({ rootSumSquareDpt }: FocusBudget): number => 2 * rootSumSquareDpt;

/** Share of what is allowed that is used up. */
const used = (plane: FocusBudget): number =>
  plane.allowedHalfWidthDpt > 0 ? spreadDpt(plane) / plane.allowedHalfWidthDpt : Number.POSITIVE_INFINITY;

function leastMargin(budget: readonly FocusBudget[]): FocusBudget[] {
  if (budget.length <= mostPanels) return [...budget];
  const worst = new Set([...budget].sort((a, b) => used(b) - used(a)).slice(0, mostPanels));
  return budget.filter((plane) => worst.has(plane));
}

function panel({
  plane,
  plot,
  x,
  named,
  axis,
}: {
  plane: FocusBudget;
  plot: Plot;
  x: LinearScale;
  named: boolean;
  axis: boolean;
}): Markup {
  const rows = [
    ...plane.terms.map((term) => ({
      name: budgetTermNames[term.name],
      valueDpt: term.valueDpt,
      largestDpt: term.worstCaseDpt,
      sum: false,
    })),
    { name: 'all together, 2σ', valueDpt: spreadDpt(plane), largestDpt: 0, sum: true },
    { name: 'worst case', valueDpt: plane.worstCaseDpt, largestDpt: 0, sum: true },
  ].map((row, i) => ({ ...row, yPx: plot.topPx + i * rowPx }));
  return element(
    'g',
    {},
    requiredBand({
      x1Px: x(0),
      x2Px: x(plane.allowedHalfWidthDpt),
      y1Px: plot.topPx,
      y2Px: plot.bottomPx,
      edges: 'left-right',
    }),
    label(`${plane.plane}: ${allowedText(plane)}`, {
      xPx: plot.leftPx,
      yPx: plot.topPx - 8,
    }),
    [false, true].map((sum) => bars({ rows: rows.filter((row) => row.sum === sum), x, sum, named, plot })),
    axis
      ? bottomAxis({ scale: x, plot, title: 'Change of focus, dpt' })
      : element('line', {
          x1: plot.leftPx,
          x2: plot.rightPx,
          y1: plot.bottomPx,
          y2: plot.bottomPx,
          stroke: colour('ink'),
        }),
  );
}

const allowedText = ({ allowedHalfWidthDpt }: FocusBudget): string =>
  allowedHalfWidthDpt > 0 ? `±${formatNumber(allowedHalfWidthDpt, 2)} dpt allowed` : 'no depth of field';

interface BudgetRow {
  name: string;
  valueDpt: number;
  largestDpt: number;
  yPx: number;
}

/** Bars that look alike, each with a thin line to its largest value; names before them, values behind. */
function bars({
  rows,
  x,
  sum,
  named,
  plot,
}: {
  rows: readonly BudgetRow[];
  x: LinearScale;
  sum: boolean;
  named: boolean;
  plot: Plot;
}): Child[] {
  const zeroPx = px(x(0));
  const blocks = rows.map(({ valueDpt, yPx }) => {
    const widthPx = px(Math.max(1, x(valueDpt) - x(0)));
    return `M${zeroPx} ${px(yPx + 4)}h${widthPx}v${rowPx - 8}h${-widthPx}z`;
  });
  const whiskers = rows.filter(({ valueDpt, largestDpt }) => largestDpt > valueDpt);
  return [
    named &&
      labels(
        rows.map(({ name, yPx }) => ({ text: name, xPx: plot.leftPx - 8, yPx: yPx + 13 })),
        { anchor: 'end', soft: !sum },
      ),
    element('path', { d: blocks.join(''), fill: colour(sum ? 'ink' : 'predicted') }),
    whiskers.length > 0 &&
      strokes(
        whiskers.map(({ valueDpt, largestDpt, yPx }) => {
          const middlePx = yPx + rowPx / 2;
          return `M${px(x(valueDpt))} ${px(middlePx)}H${px(x(largestDpt))}M${px(x(largestDpt))} ${px(middlePx - 4)}v8`;
        }),
        { stroke: colour('predicted'), 'stroke-width': 1.2 },
      ),
    labels(
      rows.map(({ valueDpt, largestDpt, yPx }) => ({
        text: formatNumber(valueDpt, 2),
        xPx: x(Math.max(valueDpt, largestDpt)) + 5,
        yPx: yPx + 13,
      })),
      { soft: !sum },
    ),
  ];
}

function titleOf(budget: readonly FocusBudget[]): string {
  const worst = [...budget].sort((a, b) => used(b) - used(a))[0];
  if (worst === undefined) return 'No focus budget: no plane is in reach';
  const { plane, allowedHalfWidthDpt } = worst;
  if (!(allowedHalfWidthDpt > 0)) return `No depth of field at ${plane}: the task’s contrast is not reached`;
  const spread = `±${withUnit(spreadDpt(worst), 'dpt', 2)} (2σ)`;
  const allowed = `±${withUnit(allowedHalfWidthDpt, 'dpt', 2)}`;
  return used(worst) <= 1
    ? `Focus stays sharp: at ${plane} within ${spread}, depth of field by the task’s contrast allows ${allowed}`
    : `Focus leaves depth of field by the task’s contrast: at ${plane} ${spread}, allowed ${allowed}`;
}

function descriptionOf(budget: readonly FocusBudget[], shown: number): string {
  const planes = budget.map((plane) => {
    const terms = plane.terms
      .map(
        (term) =>
          `${budgetTermNames[term.name]} ${withUnit(term.valueDpt, 'dpt', 2)} (largest ${formatNumber(term.worstCaseDpt, 2)})`,
      )
      .join(', ');
    return `${plane.plane}: ${terms}; together ${withUnit(spreadDpt(plane), 'dpt', 2)} as two standard deviations, worst case ${withUnit(plane.worstCaseDpt, 'dpt', 2)}, allowed ±${withUnit(plane.allowedHalfWidthDpt, 'dpt', 2)}`;
  });
  const part = shown < budget.length ? ` Drawn are the ${shown} planes with least margin of ${budget.length}.` : '';
  return `Focus budget. ${planes.join('. ')}.${part}`;
}
