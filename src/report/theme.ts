/**
 * Colours of page, report and figures. Two hues from the set of Okabe and Ito (2008), which people of every kind of
 * colour vision tell apart, for predicted and measured; everything else is ink and paper.
 */

export type ThemeName = 'light' | 'dark' | 'print';

/** What each colour means; the CSS custom property is `--fw-` and the name. */
export interface Theme {
  paper: string;
  /** Raised or inset surface: inset figures, table heads. */
  'paper-tint': string;
  ink: string;
  /** Secondary text: units, captions, axis numbers. */
  'ink-soft': string;
  /** Lines that carry no number: grid, rules of tables. */
  rule: string;
  /** Fill of the band that the task requires, and its edge. */
  required: string;
  'required-edge': string;
  predicted: string;
  measured: string;
}

export const themes: Record<ThemeName, Theme> = {
  light: {
    paper: '#fbfaf6',
    'paper-tint': '#f1efe8',
    ink: '#1a1a1a',
    'ink-soft': '#55534d',
    rule: '#d5d2c8',
    required: '#e6e4de',
    'required-edge': '#77746b',
    predicted: '#0072b2',
    measured: '#d55e00',
  },
  dark: {
    paper: '#17191b',
    'paper-tint': '#202326',
    ink: '#ecebe6',
    'ink-soft': '#b3b1aa',
    rule: '#3c4043',
    required: '#303437',
    'required-edge': '#92959a',
    predicted: '#56b4e9',
    measured: '#e69f00',
  },
  print: {
    paper: '#ffffff',
    'paper-tint': '#f4f4f2',
    ink: '#000000',
    'ink-soft': '#4a4a4a',
    rule: '#cfcfcf',
    required: '#e6e6e6',
    'required-edge': '#707070',
    predicted: '#0072b2',
    measured: '#d55e00',
  },
};

/** A colour as a figure writes it: the page's custom property, with the light theme's colour where there is none. */
export const colour = (name: keyof Theme): string => `var(--fw-${name}, ${themes.light[name]})`;

const declarations = (name: ThemeName): string =>
  Object.entries(themes[name])
    .map(([key, value]) => `--fw-${key}: ${value};`)
    .join(' ');

/**
 * The custom properties for light, dark and print. Follows the reader's system; `data-theme="light"` or `"dark"` on the
 * root element decides instead. Print is always dark on white.
 */
export const themeCss = `:root { color-scheme: light dark; ${declarations('light')} }
@media (prefers-color-scheme: dark) { :root { ${declarations('dark')} } }
:root[data-theme='light'] { color-scheme: light; ${declarations('light')} }
:root[data-theme='dark'] { color-scheme: dark; ${declarations('dark')} }
@media print { :root, :root[data-theme] { color-scheme: light; ${declarations('print')} } }
`;
