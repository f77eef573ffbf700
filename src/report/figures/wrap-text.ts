import type { Markup } from '../markup.js';
import { label, smallFontPx, textWidthPx } from './figure.js';

/** A text in lines no wider than this, broken between words; a longer word stands alone. */
export function wrapText(text: string, maxWidthPx: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(/\s+/).filter(Boolean)) {
    const joined = lines.length ? `${lines[lines.length - 1]} ${word}` : word;
    if (lines.length && textWidthPx(joined) <= maxWidthPx) lines[lines.length - 1] = joined;
    else lines.push(word);
  }
  return lines;
}

/** Paragraphs of wrapped text from a top left corner down, the first in ink, the others softer. */
export function paragraphs(
  texts: readonly string[],
  { xPx, yPx, maxWidthPx }: { xPx: number; yPx: number; maxWidthPx: number },
): Markup[] {
  const lines = texts.flatMap((text, i) => wrapText(text, maxWidthPx).map((line) => ({ line, soft: i > 0 })));
  return lines.map(({ line, soft }, i) => label(line, { xPx, yPx: yPx + i * (smallFontPx + 6) }, { soft }));
}
