import { requirePositive } from '../../../base/index.js';
import type { CurveRange, CurveSearch } from './curve-search.js';
import { sectionSearch } from './fibonacci.js';

const golden = (Math.sqrt(5) - 1) / 2;

/**
 * Looks of a golden-section search that narrow an interval to a share of itself.
 *
 * Formula  smallest n ≥ 3 with φ^(n − 1) ≤ share, φ = (√5 − 1)/2
 */
export const goldenLookCount = (share: number): number =>
  Math.max(3, 1 + Math.ceil(Math.log(Math.min(1, share)) / Math.log(golden) - 1e-9));

/**
 * Golden-section search: each look keeps 61.8 % of the interval, whatever comes; nothing has to be fixed beforehand.
 *
 * Model    as fibonacci, with the limit of its shares; at most one look more
 * Returns  the middle of the last interval, known to half of it.
 * Throws   RangeError if the tolerance is not > 0.
 * Trust    as fibonacci.
 * Source   Kiefer, Proc. Am. Math. Soc. 4, 502 (1953)
 * Checked  closed form: looks and last interval, tests/procedures/autofocus/classic.test.ts
 */
export function* goldenSection({ lowDpt, highDpt, toleranceDpt }: CurveRange): CurveSearch {
  requirePositive('toleranceDpt', toleranceDpt, 'dpt');
  return yield* sectionSearch({
    lowDpt,
    highDpt,
    count: goldenLookCount(toleranceDpt / (highDpt - lowDpt)),
    shareAt: () => golden,
  });
}
