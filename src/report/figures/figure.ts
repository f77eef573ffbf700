import { type Attributes, type Child, element, type Markup } from '../markup.js';
import { colour } from '../theme.js';

/** Size of a figure on its page. Labels are laid out anew for each size, not scaled. */
export interface FigureSize {
  widthPx: number;
  heightPx: number;
}

/** A figure for page, report or print. */
export interface Figure {
  /** Says the finding, e.g. "Focus reaches 310–720 mm; the task needs 340–520 mm". */
  title: string;
  /** One `<svg>` element; colours come from the page's custom properties (see theme.ts). */
  svg: string;
  /** Text alternative: what the figure shows, with its numbers. */
  description: string;
}

/** The part of a figure that holds data. */
export interface Plot {
  leftPx: number;
  rightPx: number;
  topPx: number;
  bottomPx: number;
}

/** Least size at which the labels still fit. */
const smallest: FigureSize = { widthPx: 280, heightPx: 160 };

/** The size asked for, not smaller than the labels need. */
export function drawableSize({ widthPx, heightPx }: FigureSize): FigureSize {
  const atLeast = (value: number, min: number) => (Number.isFinite(value) ? Math.max(min, Math.round(value)) : min);
  return { widthPx: atLeast(widthPx, smallest.widthPx), heightPx: atLeast(heightPx, smallest.heightPx) };
}

/**
 * Puts a drawing into its `<svg>` with name and description for those who don't see it.
 *
 * Returns  ids are made from the content, so that figures on one page don't share them.
 */
export function figureOf({
  title,
  description,
  size,
  body,
}: {
  title: string;
  description: string;
  size: FigureSize;
  body: readonly Child[];
}): Figure {
  const { widthPx, heightPx } = size;
  const drawing = element('g', {}, body);
  const id = `fw-${hash(`${title}\n${description}\n${widthPx}×${heightPx}`, drawing.markup)}`;
  const svg = element(
    'svg',
    {
      xmlns: 'http://www.w3.org/2000/svg',
      viewBox: `0 0 ${widthPx} ${heightPx}`,
      width: widthPx,
      height: heightPx,
      role: 'img',
      'aria-labelledby': `${id}-title ${id}-desc`,
      'font-family': "var(--fw-font-figure, 'Liberation Sans', Arial, sans-serif)",
      'font-size': fontPx,
      fill: colour('ink'),
      style: 'max-width: 100%; height: auto; font-variant-numeric: tabular-nums;',
    },
    element('title', { id: `${id}-title` }, title),
    element('desc', { id: `${id}-desc` }, description),
    drawing,
  );
  return { title, svg: svg.markup, description };
}

/** Size of labels, and of the numbers on an axis. */
export const fontPx = 12;
export const smallFontPx = 11;

/**
 * Room a text needs, px.
 *
 * Model    three widths of letter, as in the sans-serif faces of the report; 12 % to spare for wider ones
 * Trust    a much wider face needs more: labels may then come near each other.
 */
export function textWidthPx(text: string, sizePx = fontPx): number {
  let widthEm = 0;
  for (const letter of text) widthEm += letterWidthsEm.get(letter) ?? 0.56;
  return widthEm * sizePx * 1.12;
}

const letterWidthsEm = new Map<string, number>([
  ['\u202F', 0.2],
  ...[..."ilj.,:;'’|! tfrI()"].map((letter) => [letter, 0.32] as const),
  ...[...'mwMW%'].map((letter) => [letter, 0.87] as const),
]);

/** How labels look. */
interface LabelLook {
  anchor?: 'start' | 'middle' | 'end';
  soft?: boolean;
  sizePx?: number;
  italic?: boolean;
}

/** A text with a rim of paper, so that it reads over lines. */
export function label(text: string, at: { xPx: number; yPx: number }, look: LabelLook = {}): Markup {
  return element('text', { x: at.xPx, y: at.yPx, ...lookOf(look) }, text);
}

/** Labels that look alike, such as the numbers of an axis. */
export function labels(texts: readonly { text: string; xPx: number; yPx: number }[], look: LabelLook = {}): Markup {
  return element(
    'g',
    lookOf(look),
    texts.map(({ text, xPx, yPx }) => element('text', { x: xPx, y: yPx }, text)),
  );
}

/** Many straight strokes as one element: a page holds hundreds of ticks, drawn anew with every dragged value. */
export const strokes = (moves: readonly string[], attributes: Attributes = { stroke: colour('ink') }): Markup =>
  element('path', { d: moves.join(''), fill: 'none', ...attributes });

/** A hundredth of a pixel, as elsewhere in the markup. */
export const px = (value: number): number => Math.round(value * 100) / 100;

function lookOf({ anchor = 'start', soft = false, sizePx = fontPx, italic = false }: LabelLook): Attributes {
  return {
    'text-anchor': anchor === 'start' ? null : anchor,
    'font-size': sizePx === fontPx ? null : sizePx,
    'font-style': italic ? 'italic' : null,
    fill: soft ? colour('ink-soft') : null,
    stroke: colour('paper'),
    'stroke-width': 3,
    'stroke-linejoin': 'round',
    'paint-order': 'stroke',
  };
}

/** FNV-1a over UTF-16 units, of the drawing every eighth: enough to tell two of the same name apart; as base 36. */
function hash(name: string, drawing: string): string {
  let value = 0x811c9dc5;
  for (let i = 0; i < name.length; i++) value = Math.imul(value ^ name.charCodeAt(i), 0x01000193) >>> 0;
  for (let i = 0; i < drawing.length; i += 8) value = Math.imul(value ^ drawing.charCodeAt(i), 0x01000193) >>> 0;
  return value.toString(36);
}
