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
    for (const box of candidates(wish)) {
      if (!inside(box, bounds) || anyOverlaps(box, obstacles) || placed.some((p) => overlap(box, p.box))) continue;
      placed.push({ wish, box });
      break;
    }
  }
  return placed;
}

/** The placed labels as texts. */
export const drawLabels = (placed: readonly PlacedLabel[]): Markup[] =>
  placed.map(({ wish, box }) => label(wish.text, { xPx: box.leftPx + 1, yPx: box.bottomPx - 4 }, { soft: wish.soft }));

const sides = ['right', 'left', 'above', 'below'] as const;

/** Boxes in the order in which they are tried; made one by one, as most labels find a place early. */
function* candidates({ text, xPx, yPx, prefer = 'right' }: LabelWish): Generator<Box> {
  const width = textWidthPx(text) + 2;
  const at = (leftPx: number, topPx: number): Box => ({
    leftPx,
    rightPx: leftPx + width,
    topPx,
    bottomPx: topPx + lineHeightPx,
  });
  const order = [prefer, ...sides.filter((side) => side !== prefer)];
  for (let ring = 0; ring < 8; ring++) {
    const away = 6 + ring * lineHeightPx;
    for (const side of order) {
      if (side === 'above') yield at(xPx - width / 2, yPx - away - lineHeightPx);
      else if (side === 'below') yield at(xPx - width / 2, yPx + away);
      else {
        const leftPx = side === 'right' ? xPx + 7 : xPx - 7 - width;
        yield at(leftPx, yPx - lineHeightPx / 2 - away + 6);
        yield at(leftPx, yPx - lineHeightPx / 2 + away - 6);
      }
    }
  }
}

const inside = (box: Box, bounds: Box): boolean =>
  box.leftPx >= bounds.leftPx &&
  box.rightPx <= bounds.rightPx &&
  box.topPx >= bounds.topPx &&
  box.bottomPx <= bounds.bottomPx;

/** A loop: a figure asks a thousand obstacles for each label, with every dragged value. */
function anyOverlaps(box: Box, obstacles: readonly Box[]): boolean {
  for (const obstacle of obstacles) if (overlap(box, obstacle)) return true;
  return false;
}

/** True where two boxes share area. */
export const overlap = (a: Box, b: Box): boolean =>
  a.leftPx < b.rightPx && b.leftPx < a.rightPx && a.topPx < b.bottomPx && b.topPx < a.bottomPx;
