import { describe, expect, it } from 'vitest';
import { sixPointWeights } from '../../src/optics/six-point-interpolation.js';

describe('six-point interpolation', () => {
  it('property: exact for polynomials of degree 5', () => {
    const weights = new Float64Array(6);
    const polynomial = (x: number) => 2 - x + 3 * x ** 2 - 0.5 * x ** 3 + 0.1 * x ** 4 - 0.02 * x ** 5;
    for (const place of [0, 0.3, 2, 2.5, 4.9, 5]) {
      sixPointWeights(place, weights);
      const value = weights.reduce((sum, weight, k) => sum + weight * polynomial(k), 0);
      expect(value).toBeCloseTo(polynomial(place), 10);
    }
  });
});
