import type { Markup } from '../markup.js';
import { fontPx, label, textWidthPx } from './figure.js';

/** A rectangle that labels keep clear of. */
export interface Box {
  leftPx: number;
  rightPx: number;
  topPx: number;
  bottomPx: number;
}

/** A label and the place it speaks of. */
export interface LabelWish {
  text: string;
  xPx: number;
  yPx: number;
  /** Where it would rather stand, seen from its place. */
  prefer?: 'right' | 'left' | 'above' | 'below';
  soft?: boolean;
}

/** A label with the box it got; `text-anchor` is its start. */
export interface PlacedLabel {
  wish: LabelWish;
  box: Box;
}

const lineHeightPx = fontPx + 3;

/**
 * Finds a free place for each label, in order: beside its place, then farther away in steps of a line.
 *
 * Model    greedy, by candidates; a label that finds no free place is left out, so give the important ones first.
 * Returns  boxes inside `bounds` that overlap neither each other nor the obstacles.
 */
export function placeLabels({
  wishes,
  bounds,
  obstacles = [],
}: {
  wishes: readonly LabelWish[];
  bounds: Box;
  obstacles?: readonly Box[];
}): PlacedLabel[] {
  const placed: PlacedLabel[] = [];
  for (const wish of wishes) {
    const free = candidates(wish).find(
      (box) =>
        inside(box, bounds) && !obstacles.some((o) => overlap(box, o)) && !placed.some((p) => overlap(box, p.box)),
    );
    if (free) placed.push({ wish, box: free });
  }
  return placed;
}

/** The placed labels as texts. */
export const drawLabels = (placed: readonly PlacedLabel[]): Markup[] =>
  placed.map(({ wish, box }) => label(wish.text, { xPx: box.leftPx + 1, yPx: box.bottomPx - 4 }, { soft: wish.soft }));

function candidates({ text, xPx, yPx, prefer = 'right' }: LabelWish): Box[] {
  const width = textWidthPx(text) + 2;
  const at = (leftPx: number, topPx: number): Box => ({
    leftPx,
    rightPx: leftPx + width,
    topPx,
    bottomPx: topPx + lineHeightPx,
  });
  const rings = [0, 1, 2, 3, 4, 5, 6, 7].flatMap((ring) => {
    const away = 6 + ring * lineHeightPx;
    const sides = {
      right: [at(xPx + 7, yPx - lineHeightPx / 2 - away + 6), at(xPx + 7, yPx - lineHeightPx / 2 + away - 6)],
      left: [
        at(xPx - 7 - width, yPx - lineHeightPx / 2 - away + 6),
        at(xPx - 7 - width, yPx - lineHeightPx / 2 + away - 6),
      ],
      above: [at(xPx - width / 2, yPx - away - lineHeightPx)],
      below: [at(xPx - width / 2, yPx + away)],
    };
    const order = [prefer, ...(['right', 'left', 'above', 'below'] as const).filter((side) => side !== prefer)];
    return order.flatMap((side) => sides[side]);
  });
  return rings;
}

const inside = (box: Box, bounds: Box): boolean =>
  box.leftPx >= bounds.leftPx &&
  box.rightPx <= bounds.rightPx &&
  box.topPx >= bounds.topPx &&
  box.bottomPx <= bounds.bottomPx;

/** True where two boxes share area. */
export const overlap = (a: Box, b: Box): boolean =>
  a.leftPx < b.rightPx && b.leftPx < a.rightPx && a.topPx < b.bottomPx && b.topPx < a.bottomPx;
