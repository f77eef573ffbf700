import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { normalProbabilityBelow, normalProbabilityWithin } from '../../src/base/index.js';

describe('normal distribution', () => {
  // Values of the standard normal table (Abramowitz & Stegun, table 26.1; from memory), the last by its tail expansion.
  it.each([
    [0, 0.5],
    [1, 0.841344746068543],
    [2, 0.977249868051821],
    [3, 0.99865010196837],
    [-1.959963984540054, 0.025],
    [-6, 9.865876450376946e-10],
  ])('reference: Φ(%f) = %f', (x, probability) => {
    expect(normalProbabilityBelow(x)).toBeCloseTo(probability, 13);
  });

  it('property: rises from 0 to 1, symmetric', () => {
    const any = fc.double({ min: -12, max: 12, noNaN: true });
    fc.assert(
      fc.property(any, any, (a, b) => {
        expect(normalProbabilityBelow(a) + normalProbabilityBelow(-a)).toBeCloseTo(1, 13);
        if (a < b) expect(normalProbabilityBelow(a)).toBeLessThanOrEqual(normalProbabilityBelow(b) + 1e-15);
      }),
    );
  });

  it('degenerate: infinite ends, no spread', () => {
    expect(normalProbabilityWithin({ low: Number.NEGATIVE_INFINITY, high: 0, std: 2 })).toBe(0.5);
    expect(normalProbabilityWithin({ low: -1, high: 1, std: 0 })).toBe(1);
    expect(normalProbabilityWithin({ low: 0.1, high: 1, std: 0 })).toBe(0);
  });

  it('refuses what is not a number', () => {
    expect(() => normalProbabilityBelow(Number.NaN)).toThrow(RangeError);
  });
});
