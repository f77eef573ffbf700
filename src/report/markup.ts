/**
 * Markup that escapes by construction: texts are escaped when they become part of an element, numbers must be finite.
 * The same builder writes SVG and HTML; what it writes is well-formed XML.
 */

/** Markup that is already escaped. Only this file makes it from text. */
export interface Markup {
  readonly markup: string;
}

export type Child = Markup | string | null | false | readonly Child[];
export type Attributes = Record<string, string | number | null | undefined | false>;

const voidElements = new Set(['meta', 'br', 'hr', 'col', 'wbr']);

/**
 * One element.
 *
 * Returns  markup with every text and attribute escaped; attributes that are null, undefined or false are left out.
 * Throws   RangeError naming the element and attribute, if a number is not finite.
 */
export function element(name: string, attributes: Attributes = {}, ...children: Child[]): Markup {
  let open = `<${name}`;
  for (const key of Object.keys(attributes)) {
    const value = attributes[key];
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === 'number' && !Number.isFinite(value)) {
      throw new RangeError(`${key} of <${name}> is ${value}; allowed: a finite number`);
    }
    open += ` ${key}="${typeof value === 'number' ? plainNumber(value) : escapeText(value)}"`;
  }
  if (voidElements.has(name)) return { markup: `${open} />` };
  return { markup: `${open}>${markupOf(children)}</${name}>` };
}

/** A style sheet; it may hold no `<` and no `&`. */
export function styleSheet(css: string): Markup {
  if (/[<&]/.test(css)) throw new RangeError('a style sheet holds < or &; allowed: neither');
  return { markup: `<style>${css}</style>` };
}

/** Takes in markup made by another function of this folder, such as the SVG of a figure. */
export const asMarkup = (markup: string): Markup => ({ markup });

function markupOf(child: Child): string {
  if (child === null || child === false) return '';
  if (typeof child === 'string') return escapeText(child);
  if ('markup' in child) return child.markup;
  let markup = '';
  for (const one of child) markup += markupOf(one);
  return markup;
}

/** At most two decimals: a hundredth of a pixel is below what a screen or a printer shows. */
function plainNumber(value: number): string {
  const rounded = Math.round(value * 100) / 100;
  return String(Object.is(rounded, -0) ? 0 : rounded);
}

const named: Record<string, string> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;', "'": '&#39;' };

/** A text that needs no replacement: most, and every path of a figure. */
const harmless = /^[ !#-%(-;=?-\ud7ff]*$/;

/** Text for an element or attribute; characters that XML does not allow become the replacement character. */
export function escapeText(text: string): string {
  if (harmless.test(text)) return text;
  let out = '';
  for (const character of text)
    out += named[character] ?? (isXmlCharacter(character.codePointAt(0)!) ? character : '\uFFFD');
  return out;
}

/** XML 1.0 (fifth edition), production 2. */
function isXmlCharacter(code: number): boolean {
  if (code < 0x20) return code === 0x9 || code === 0xa || code === 0xd;
  return code <= 0xd7ff || (code >= 0xe000 && code <= 0xfffd) || code >= 0x10000;
}
