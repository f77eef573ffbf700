import { element, type Markup } from '../markup.js';
import { colour } from '../theme.js';
import { label, type Plot, textWidthPx } from './figure.js';

/** A label above the plot, in a row of its own. */
export interface HeadLabel {
  text: string;
  /** Where the line or band stands that it names; null: it names none. */
  atPx: number | null;
  mark: 'predicted' | 'measured' | 'required-edge';
}

export const headRowPx = 17;

/** Baseline of a row; the title of the vertical axis stands above the first. */
export const headBaselinePx = (row: number): number => 20 + (row + 1) * headRowPx - 4;

/**
 * Labels in rows above the plot, each beside the line it names.
 *
 * Returns  `clear`: no line that rises to its row crosses a label, so lines may rise to them; else they end at the plot
 *          and the swatch of each label says which is which.
 */
export function headLabels(labels: readonly (HeadLabel | null)[], plot: Plot): { markup: Markup[]; clear: boolean } {
  const lines = labels.map((head) => (head === null || head.mark === 'required-edge' ? null : head.atPx));
  const rows = labels.map((head, row) => {
    const rising = lines.slice(0, row + 1).filter((line) => line !== null);
    return head && { head, row, ...placeBeside(head, rising, plot) };
  });
  const placed = rows.filter((row) => row !== null);
  return {
    markup: placed.map(({ head, row, startPx }) => drawn(head, headBaselinePx(row), startPx)),
    clear: placed.every(({ clear }) => clear),
  };
}

function placeBeside({ text, atPx }: HeadLabel, lines: readonly number[], plot: Plot) {
  const width = textWidthPx(text) + 16;
  const own = atPx ?? plot.leftPx;
  const starts = [own + 6, own - 6 - width, ...lines.flatMap((line) => [line + 6, line - 6 - width]), 2];
  const inside = starts.filter((start) => start >= 2 && start + width <= plot.rightPx + 10);
  const free = inside.find((start) => !lines.some((line) => line > start - 4 && line < start + width + 4));
  return { startPx: free ?? inside[0] ?? 2, clear: free !== undefined };
}

function drawn({ text, atPx, mark }: HeadLabel, yPx: number, startPx: number): Markup {
  return element(
    'g',
    {},
    atPx !== null && element('rect', { x: startPx, y: yPx - 9, width: 9, height: 9, fill: colour(mark) }),
    label(text, { xPx: startPx + (atPx === null ? 0 : 14), yPx }, { soft: atPx === null }),
  );
}
