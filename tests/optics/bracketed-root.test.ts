import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bracketedRoot } from '../../src/optics/bracketed-root.js';

describe('bracketed root', () => {
  it('property: finds the root of steep, flat and lopsided functions', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.001, max: 0.999, noNaN: true }),
        fc.constantFrom(
          (x: number) => x,
          (x: number) => x ** 9,
          (x: number) => Math.tanh(1e4 * x),
          (x: number) => Math.expm1(30 * x),
        ),
        (root, shape) => {
          let calls = 0;
          const found = bracketedRoot({
            of: (x) => {
              calls += 1;
              return shape(x - root);
            },
            low: 0,
            high: 1,
            tolerance: 1e-10,
          });
          expect(Math.abs(found - root)).toBeLessThan(1.1e-10);
          expect(calls).toBeLessThan(150);
        },
      ),
    );
  });

  it('degenerate: a root at either end', () => {
    expect(bracketedRoot({ of: (x) => x, low: 0, high: 1, tolerance: 1e-9 })).toBe(0);
    expect(bracketedRoot({ of: (x) => x - 1, low: 0, high: 1, tolerance: 1e-9 })).toBe(1);
  });

  it('refuses ends of the same sign', () => {
    expect(() => bracketedRoot({ of: () => 1, low: 0, high: 1, tolerance: 1e-9 })).toThrow(/opposite signs/);
    expect(() => bracketedRoot({ of: () => Number.NaN, low: 0, high: 1, tolerance: 1e-9 })).toThrow(RangeError);
  });
});
