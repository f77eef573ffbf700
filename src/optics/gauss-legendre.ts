import { requireInteger } from '../base/index.js';

/** Nodes on (−1, 1) and weights that sum to 2. */
export interface QuadratureRule {
  readonly nodes: Float64Array;
  readonly weights: Float64Array;
}

/**
 * Gauss–Legendre rule of `count` nodes: exact for polynomials up to degree 2·count − 1.
 *
 * Model    Newton's method on the Legendre polynomial from Tricomi's first guess
 * Throws   RangeError if count is not a whole number 1 … 512.
 * Source   Abramowitz & Stegun, Handbook of Mathematical Functions, 25.4.29 (from memory)
 * Checked  property: exact for its polynomials, tests/optics/gauss-legendre.test.ts
 */
export function gaussLegendre(count: number): QuadratureRule {
  requireInteger('count', count, { min: 1, max: 512 });
  const nodes = new Float64Array(count);
  const weights = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    let x = -Math.cos((Math.PI * (i + 0.75)) / (count + 0.5));
    let slope = 1;
    for (let iteration = 0; iteration < 20; iteration++) {
      let previous = 1;
      let value = x;
      for (let n = 2; n <= count; n++) {
        const next = ((2 * n - 1) * x * value - (n - 1) * previous) / n;
        previous = value;
        value = next;
      }
      slope = count === 1 ? 1 : (count * (x * value - previous)) / (x * x - 1);
      const step = value / slope;
      x -= step;
      if (Math.abs(step) < 1e-15) break;
    }
    nodes[i] = x;
    weights[i] = 2 / ((1 - x * x) * slope * slope);
  }
  return { nodes, weights };
}
