import { describe, expect, it } from 'vitest';
import { choleskyFactor, choleskyInverse, choleskySolve, forwardSolve } from '../../src/base/index.js';

const matrix = new Float64Array([4, 2, 0, 2, 5, 4, 0, 4, 8]);

describe('linear system', () => {
  it('closed form: factor, solution and inverse of a 3 × 3 matrix done by hand', () => {
    const factor = choleskyFactor(matrix, 3)!;
    expect([...factor]).toEqual([2, 0, 0, 1, 2, 0, 0, 2, 2]);
    expect([...choleskySolve(factor, 3, [8, 24, 32])]).toEqual([1, 2, 3]);
    expect([...forwardSolve(factor, 3, [2, 5, 10])]).toEqual([1, 2, 3]);
    const inverse = choleskyInverse(factor, 3);
    [24, -16, 8, -16, 32, -16, 8, -16, 16].forEach((entry, i) => {
      expect(inverse[i]).toBeCloseTo(entry / 64, 14);
    });
  });

  it('refuses a matrix that is not positive definite', () => {
    expect(choleskyFactor(new Float64Array([1, 2, 2, 1]), 2)).toBeNull();
    expect(choleskyFactor(new Float64Array([1, 1, 1, 1]), 2)).toBeNull();
  });
});
