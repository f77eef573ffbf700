import { requireNumber } from './require.js';

/** From here on the tail is below the rounding of 1. */
const tail = 8.3;

/**
 * Probability that a standard normal value lies below x.
 *
 * Formula  Φ(x) = ½ + φ(x)·(x + x³/3 + x⁵/(3·5) + …)
 * Returns  0 … 1, with an absolute error below 1e-14.
 * Throws   RangeError if x is not a number; ±Infinity give 0 and 1.
 * Source   Marsaglia, J. Stat. Software 11(4) (2004) (form from memory; derived again)
 * Checked  reference: table values, tests/base/normal-distribution.test.ts
 */
export function normalProbabilityBelow(x: number): number {
  if (x === Number.NEGATIVE_INFINITY || x < -tail) return 0;
  if (x === Number.POSITIVE_INFINITY || x > tail) return 1;
  requireNumber('x', x);
  let sum = x;
  let term = x;
  for (let odd = 3; sum + term !== sum; odd += 2) {
    term *= (x * x) / odd;
    sum += term;
  }
  return Math.min(1, Math.max(0, 0.5 + sum * Math.exp(-0.5 * x * x) * 0.3989422804014327));
}

/** Probability that a normal value of mean 0 lies within `low` … `high`. A std of 0 counts as no spread. */
export function normalProbabilityWithin({ low, high, std }: { low: number; high: number; std: number }): number {
  requireNumber('std', std, { min: 0 });
  if (std === 0) return low <= 0 && high >= 0 ? 1 : 0;
  return Math.max(0, normalProbabilityBelow(high / std) - normalProbabilityBelow(low / std));
}
