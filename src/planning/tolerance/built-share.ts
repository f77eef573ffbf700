import { requireInteger } from '../../base/index.js';
import type { BuiltShare, StationShare } from '../../station/index.js';
import { type BuiltRequirement, isMet } from './requirements.js';

/** Half-width of a 95 % interval of the normal distribution, in standard deviations. */
const sigmasFor95 = 1.959964;

/**
 * Share of successes among trials, with its 95 % confidence interval.
 *
 * Model    Wilson's score interval: holds at shares of 0 and 1 too
 * Formula  (p + z²/2n ± z·√(p(1−p)/n + z²/4n²)) / (1 + z²/n)
 * Throws   RangeError if the counts are not whole numbers with 0 ≤ successes ≤ trials.
 * Source   Wilson, J. Am. Stat. Assoc. 22, 209 (1927) (from memory; derived again)
 * Checked  closed form: tests/planning/tolerance.test.ts
 */
export function shareOf({ successCount, trialCount }: { successCount: number; trialCount: number }): StationShare {
  requireInteger('trialCount', trialCount, { min: 1 });
  requireInteger('successCount', successCount, { min: 0, max: trialCount });
  const share = successCount / trialCount;
  const square = sigmasFor95 ** 2 / trialCount;
  const middle = (share + square / 2) / (1 + square);
  const half = Math.sqrt(square * (share * (1 - share) + square / 4)) / (1 + square);
  return {
    share,
    lowShare: successCount === 0 ? 0 : middle - half,
    highShare: successCount === trialCount ? 1 : middle + half,
  };
}

/** Share of the values that meet a requirement, with what they reach; those that are not numbers meet nothing. */
export function builtShare(requirement: Pick<BuiltRequirement, 'required'>, values: Float64Array): BuiltShare {
  const known = values.filter((value) => !Number.isNaN(value)).sort();
  const successCount = known.reduce((sum, value) => sum + (isMet(requirement, value) ? 1 : 0), 0);
  const at = (share: number) => (known.length === 0 ? null : known[Math.round(share * (known.length - 1))]!);
  return {
    ...shareOf({ successCount, trialCount: values.length }),
    fifthPercentileValue: at(0.05),
    medianValue: at(0.5),
    ninetyFifthPercentileValue: at(0.95),
  };
}
