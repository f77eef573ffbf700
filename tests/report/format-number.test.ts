import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  earnedDecimals,
  estimateInWords,
  formatEstimate,
  formatFixed,
  formatNumber,
  formatRequirement,
  sharePercent,
  withUnit,
} from '../../src/report/index.js';

describe('numbers with the digits they earn', () => {
  // Worked examples of the rounding rule of the Particle Data Group (Review of Particle Physics, Introduction), from memory.
  it.each([
    [0.827, 0.119, '0.83', '± 0.12'],
    [0.827, 0.367, '0.8', '± 0.4'],
    [0.827, 0.967, '0.8', '± 1.0'],
  ])('closed form: %s with %s is %s %s', (value, std, shown, uncertainty) => {
    expect(formatEstimate({ value, std }, 'mm')).toEqual({
      value: shown,
      uncertainty: uncertainty.replace(' ', '\u202F'),
      unit: 'mm',
    });
  });

  it('closed form: an uncertainty of hundreds rounds the value to tens', () => {
    expect(estimateInWords({ value: 12_344, std: 230 }, 'mm')).toBe('12340\u202F±\u202F230\u202Fmm');
  });

  it('property: the shown uncertainty is within a tenth of the true one, and so is the value', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-9, max: 1e9, noNaN: true }),
        fc.double({ min: -1e3, max: 1e3, noNaN: true }),
        (std, ratio) => {
          const step = 10 ** -earnedDecimals(std);
          const shown = Math.round(std / step) * step;
          expect(Math.abs(shown / std - 1)).toBeLessThan(0.15);
          const value = ratio * std;
          expect(Math.abs(Math.round(value / step) * step - value)).toBeLessThan(0.15 * std);
        },
      ),
    );
  });

  it('closed form: a share keeps away from none and all', () => {
    expect([0, 1, 0.7713, 0.99, 0.9996, 0.0002].map((share) => sharePercent(share).replace('\u202F', ' '))).toEqual([
      '0 %',
      '100 %',
      '77.1 %',
      '99.0 %',
      '99.96 %',
      '0.02 %',
    ]);
  });

  it('closed form: numbers without uncertainty', () => {
    expect([0, 0.2, 340, 1234.5, -0.0439, 12_345_678, 2e-6].map((value) => formatNumber(value))).toEqual([
      '0',
      '0.2',
      '340',
      '1235',
      '−0.0439',
      '1.23\u202F×\u202F10⁷',
      '2\u202F×\u202F10⁻⁶',
    ]);
    expect(formatFixed(-0.0004, 2)).toBe('0.00');
    expect(withUnit(0.5, '')).toBe('0.5');
  });

  it('closed form: requirements', () => {
    const shown = [
      { min: 340, max: 545 },
      { min: 0.2, max: null },
      { min: null, max: 900 },
      { min: 3, max: 3 },
    ].map((r) => formatRequirement(r, 'mm').value);
    expect(shown).toEqual(['340 … 545', '≥\u202F0.2', '≤\u202F900', '3']);
  });

  it('degenerate: nothing known, no uncertainty, an open requirement', () => {
    expect(formatEstimate(null, 'mm')).toEqual({ value: '–', uncertainty: '', unit: '' });
    expect(formatEstimate({ value: 118.3, std: null }, 'ms')).toEqual({ value: '118', uncertainty: '', unit: 'ms' });
    expect(formatRequirement({ min: null, max: null }, 'mm')).toEqual({ value: '–', uncertainty: '', unit: '' });
  });

  it('property: no text holds NaN, undefined or Infinity', () => {
    const anyNumber = fc.double();
    fc.assert(
      fc.property(anyNumber, fc.option(anyNumber), (value, std) => {
        expect(estimateInWords({ value, std }, 'mm')).not.toMatch(/NaN|undefined|Infinity|null|e[+-]/);
      }),
    );
  });
});
