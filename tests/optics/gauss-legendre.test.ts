import { describe, expect, it } from 'vitest';
import { gaussLegendre } from '../../src/optics/gauss-legendre.js';

describe('Gauss–Legendre rule', () => {
  it.each([1, 2, 5, 16, 32, 128, 512])('property: %d nodes integrate even powers up to their degree', (count) => {
    const { nodes, weights } = gaussLegendre(count);
    for (const power of [0, 2, 2 * Math.floor((2 * count - 1) / 2)].filter((p) => p <= 2 * count - 1)) {
      const sum = nodes.reduce((total, x, i) => total + weights[i]! * x ** power, 0);
      expect(sum * (power + 1)).toBeCloseTo(2, 10);
    }
    expect(nodes.reduce((total, x) => total + x, 0)).toBeCloseTo(0, 10);
  });

  it('refuses counts that are none', () => {
    expect(() => gaussLegendre(0)).toThrow(/count is 0/);
    expect(() => gaussLegendre(2.5)).toThrow(/whole number/);
  });
});
