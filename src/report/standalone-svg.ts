import type { Figure } from './figures/index.js';
import { styleSheet } from './markup.js';
import { themeCss } from './theme.js';

/** A figure as a file of its own: with the colours that the page or report otherwise gives. */
export const standaloneSvg = ({ svg }: Figure): string =>
  `<?xml version="1.0" encoding="UTF-8"?>\n${svg.replace(/>/, `>${styleSheet(themeCss).markup}`)}\n`;
