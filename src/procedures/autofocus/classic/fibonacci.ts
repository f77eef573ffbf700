import { requireNumber, requirePositive } from '../../../base/index.js';
import type { CurveRange, CurveSearch } from './curve-search.js';

/**
 * Fewest looks at a curve of one top that narrow an interval to a share of itself.
 *
 * Formula  smallest n ≥ 3 with 1 / F(n + 1) ≤ share, F = 1, 1, 2, 3, 5 …
 * Throws   RangeError if the share is not in 0 … 1.
 * Source   Kiefer, Proc. Am. Math. Soc. 4, 502 (1953)
 * Checked  closed form: 1/13 of the interval after 6 looks
 */
export function fibonacciLookCount(share: number): number {
  requireNumber('share', share, { above: 0, max: 1 });
  let [now, next] = [1, 1];
  let count = 0;
  while (now < 1 / share - 1e-9) {
    [now, next] = [next, now + next];
    count++;
  }
  return Math.max(3, count);
}

/**
 * Fibonacci search: the section search that needs the fewest looks, if the curve has one top.
 *
 * Model    two looks split the interval by Fibonacci numbers; the part without the higher one is let go, and the other
 *          look is used again
 * Returns  the middle of the last interval, known to half of it; at an end where the top lies there.
 * Throws   RangeError if the tolerance is not > 0.
 * Trust    a curve with side tops, or flat shoulders under noise, sends it the wrong way for good.
 * Source   Kiefer, Proc. Am. Math. Soc. 4, 502 (1953); for focus: Krotkov, Int. J. Comput. Vis. 1, 223 (1988)
 * Checked  closed form: looks and last interval, tests/procedures/autofocus/classic.test.ts
 */
export function* fibonacci({ lowDpt: low, highDpt: high, toleranceDpt }: CurveRange): CurveSearch {
  requirePositive('toleranceDpt', toleranceDpt, 'dpt');
  const count = fibonacciLookCount(Math.min(1, toleranceDpt / (high - low)));
  const numbers = [1, 1];
  while (numbers.length < count + 2) numbers.push(numbers.at(-1)! + numbers.at(-2)!);
  return yield* sectionSearch({
    lowDpt: low,
    highDpt: high,
    count,
    shareAt: (left) => numbers[left - 1]! / numbers[left]!,
  });
}

/**
 * Section search: `count` looks, each keeping a share of the interval.
 *
 * Input    `shareAt`: share of the interval kept while so many looks, the one already there included, are left.
 */
export function* sectionSearch({
  lowDpt: low,
  highDpt: high,
  count,
  shareAt,
}: {
  lowDpt: number;
  highDpt: number;
  count: number;
  shareAt: (left: number) => number;
}): CurveSearch {
  let [a, b] = [low, high];
  const first = shareAt(count);
  let lower = b - first * (b - a);
  let upper = a + first * (b - a);
  let lowerValue = yield lower;
  let upperValue = yield upper;
  for (let left = count - 1; left > 1; left--) {
    if (lowerValue > upperValue) {
      [b, upper, upperValue] = [upper, lower, lowerValue];
      lower = a + b - upper;
      // The last look would fall on the one before: a hair beside it says which side falls.
      if (left === 2 && upper - lower < 1e-3 * (b - a)) lower = upper - 0.02 * (b - a);
      lowerValue = yield lower;
    } else {
      [a, lower, lowerValue] = [lower, upper, upperValue];
      upper = a + b - lower;
      if (left === 2 && upper - lower < 1e-3 * (b - a)) upper = lower + 0.02 * (b - a);
      upperValue = yield upper;
    }
  }
  if (lowerValue > upperValue) b = upper;
  else a = lower;
  if (a === low || b === high) {
    const end = a === low ? low : high;
    return { kind: 'none', reason: 'at-end', message: `The highest value lies at the end, ${end}` };
  }
  return { kind: 'top', focalPowerDpt: (a + b) / 2, focalPowerStdDpt: (b - a) / Math.sqrt(12) };
}
