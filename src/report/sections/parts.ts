import type { Estimate, Verdict } from '../../base/index.js';
import type { Figure, FigureSize } from '../figures/index.js';
import { formatEstimate, type NumberText } from '../format-number.js';
import { asMarkup, type Child, element, type Markup } from '../markup.js';
import { verdictMarks } from '../verdict-mark.js';

/** A section of the report with its heading; the id is for links inside the page. */
export const section = (id: string, title: string, ...children: Child[]): Markup =>
  element('section', { id }, element('h2', {}, title), ...children);

export const paragraph = (...children: Child[]): Markup => element('p', {}, ...children);

/** Value, smaller uncertainty, lighter unit. */
export function numberMarkup({ value, uncertainty, unit }: NumberText): Markup {
  return element(
    'span',
    { class: 'number' },
    value,
    uncertainty !== '' && element('small', {}, ` ${uncertainty}`),
    unit !== '' && element('span', { class: 'unit' }, ` ${unit}`),
  );
}

export const estimateMarkup = (estimate: Estimate | null, unit: string): Markup =>
  numberMarkup(formatEstimate(estimate, unit));

/** Word and shape. */
export function verdictMarkup(verdict: Verdict): Markup {
  const { word, path } = verdictMarks[verdict];
  const shape = element('path', { d: path, fill: 'currentColor', 'fill-rule': 'evenodd' });
  const drawing = element('svg', { viewBox: '0 0 16 16', width: 12, height: 12, 'aria-hidden': 'true' }, shape);
  return element('span', { class: 'verdict' }, drawing, ` ${word}`);
}

/** A table; each column names itself again in the cells, for narrow screens where rows become blocks. */
export function table(caption: string, columns: readonly string[], rows: readonly (readonly Child[])[]): Markup {
  return element(
    'table',
    {},
    element('caption', {}, caption),
    element(
      'thead',
      {},
      element(
        'tr',
        {},
        columns.map((column) => element('th', { scope: 'col' }, column)),
      ),
    ),
    element(
      'tbody',
      {},
      rows.map((cells) =>
        element(
          'tr',
          {},
          cells.map((cell, i) => element('td', { 'data-column': columns[i] }, cell)),
        ),
      ),
    ),
  );
}

/** Something to open: closed at first, open in print unless it is long. */
export const foldable = (summary: string, { long = false }: { long?: boolean }, ...children: Child[]): Markup =>
  element('details', { class: long ? 'long' : null }, element('summary', {}, summary), ...children);

/** Draws figures for wide and narrow screens; the style sheet shows one of them. */
export class FigureBlocks {
  #count = 0;

  /** `simulated` stands in each caption, so that a figure that is cut out keeps its mark. */
  constructor(private readonly simulated: boolean) {}

  /** A picture: one size for every screen, so that its data stand in the page once. */
  picture(figure: Figure): Markup {
    return element('figure', { class: 'half' }, this.#caption(figure), asMarkup(figure.svg));
  }

  block(
    draw: (size: FigureSize) => Figure,
    size: { heightPx: number; narrowHeightPx: number; half?: boolean },
  ): Markup {
    const wide = draw({ widthPx: size.half ? 452 : 920, heightPx: size.heightPx });
    const narrow = draw({ widthPx: 344, heightPx: size.narrowHeightPx });
    return element(
      'figure',
      { class: size.half ? 'half' : null },
      this.#caption(wide),
      element('div', { class: 'wide' }, asMarkup(wide.svg)),
      element('div', { class: 'narrow' }, asMarkup(narrow.svg)),
    );
  }

  #caption({ title }: Figure): Markup {
    this.#count += 1;
    const number = `Figure ${this.#count}${this.simulated ? ', simulated' : ''}. `;
    return element('figcaption', {}, element('span', { class: 'figure-number' }, number), title);
  }
}
