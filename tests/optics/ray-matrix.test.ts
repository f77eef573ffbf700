import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { determinant, gapMatrix, type RayMatrix, systemMatrix, thinLensMatrix } from '../../src/optics/index.js';

const element: fc.Arbitrary<RayMatrix> = fc.oneof(
  fc.double({ min: -50, max: 100, noNaN: true }).map((gapMm) => gapMatrix({ gapMm })),
  fc.double({ min: -60, max: 60, noNaN: true }).map((powerDpt) => thinLensMatrix({ powerDpt })),
);

describe('ray matrix', () => {
  it('property: the determinant of every system in air is 1', () => {
    fc.assert(
      fc.property(fc.array(element, { maxLength: 8 }), (elements) => {
        const matrix = systemMatrix(elements);
        const size = Math.abs(matrix.a * matrix.d) + Math.abs(matrix.b * matrix.c);
        expect(Math.abs(determinant(matrix) - 1)).toBeLessThanOrEqual(1e-13 * (1 + size));
      }),
    );
  });

  it('closed form: light meets the first element first', () => {
    const matrix = systemMatrix([gapMatrix({ gapMm: 10 }), thinLensMatrix({ powerDpt: 100 })]);
    expect(matrix).toEqual({ a: 1, b: 10, c: -0.1, d: 0 });
  });

  it('degenerate: no elements leave every ray as it is', () => {
    expect(systemMatrix([])).toEqual({ a: 1, b: 0, c: 0, d: 1 });
  });

  it('refuses gaps and powers that are not finite', () => {
    expect(() => gapMatrix({ gapMm: Number.NaN })).toThrow('gapMm is NaN mm; allowed: a finite number');
    expect(() => thinLensMatrix({ powerDpt: Number.POSITIVE_INFINITY })).toThrow(/powerDpt is Infinity dpt/);
  });
});
