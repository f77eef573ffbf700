import { describe, expect, it } from 'vitest';
import { type Theme, type ThemeName, themeCss, themes } from '../../src/report/index.js';

/** Relative luminance and contrast ratio: WCAG 2.2, definitions of these terms (formula from memory). */
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5]
    .map((i) => Number.parseInt(hex.slice(i, i + 2), 16) / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
}

function contrastRatio(a: string, b: string): number {
  const [high, low] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return (high! + 0.05) / (low! + 0.05);
}

/** Table of Okabe and Ito, Color Universal Design (2008), from memory. */
const okabeIto = ['#000000', '#e69f00', '#56b4e9', '#009e73', '#f0e442', '#0072b2', '#d55e00', '#cc79a7'];

const names = Object.keys(themes) as ThemeName[];
const texts: (keyof Theme)[] = ['ink', 'ink-soft'];
const marks: (keyof Theme)[] = ['predicted', 'measured', 'required-edge', 'ink'];

describe('theme', () => {
  it('closed form: black on white has contrast 21, equal colours 1', () => {
    expect(contrastRatio('#000000', '#ffffff')).toBeCloseTo(21, 10);
    expect(contrastRatio('#777777', '#777777')).toBe(1);
  });

  it.each(
    names.flatMap((name) =>
      texts.flatMap((text) =>
        (['paper', 'paper-tint', 'required'] as const).map((ground) => [name, text, ground] as const),
      ),
    ),
  )('closed form: %s, %s on %s reads (at least 4.5)', (name, text, ground) => {
    expect(contrastRatio(themes[name][text], themes[name][ground])).toBeGreaterThanOrEqual(4.5);
  });

  it.each(names.flatMap((name) => marks.map((mark) => [name, mark] as const)))(
    'closed form: %s, %s stands out (at least 3)',
    (name, mark) => {
      expect(contrastRatio(themes[name][mark], themes[name].paper)).toBeGreaterThanOrEqual(3);
      expect(contrastRatio(themes[name][mark], themes[name].required)).toBeGreaterThanOrEqual(3);
    },
  );

  it('reference: predicted and measured come from the Okabe–Ito set', () => {
    for (const name of names)
      for (const hue of [themes[name].predicted, themes[name].measured]) expect(okabeIto).toContain(hue);
  });

  it('closed form: the style sheet sets every property in each theme', () => {
    for (const name of names)
      for (const [key, value] of Object.entries(themes[name])) expect(themeCss).toContain(`--fw-${key}: ${value};`);
  });
});
