import { requireInteger } from './require.js';

/**
 * Standard deviation of a share that was counted.
 *
 * Model    every share alike before; so it is not 0 where all, or none, of a few came out right
 * Formula  √((k + 1)(n − k + 1) / ((n + 2)²(n + 3))), k of n: of Beta(k + 1, n − k + 1)
 * Throws   RangeError if a count is no whole number ≥ 0, or k > n.
 * Checked  closed form: tests/base/share-std.test.ts
 */
export function shareStd({ count, ofCount }: { count: number; ofCount: number }): number {
  const n = requireInteger('ofCount', ofCount, { min: 0 });
  const k = requireInteger('count', count, { min: 0, max: n });
  return Math.sqrt(((k + 1) * (n - k + 1)) / ((n + 2) ** 2 * (n + 3)));
}
