import { requirePositive } from '../../../base/index.js';
import type { PeakSample } from '../../../image/index.js';
import type { CurveRange, CurveSearch } from './curve-search.js';
import { peakOfThree } from './full-sweep.js';

/** First step as a share of the range, and how much finer each later one is. */
const firstShare = 1 / 10;
const finer = 4;
/** A step is longer where the curve is still low and flat: the slope over the height tells how near the top is. */
const stretch = 2;
const flatSlope = 0.05;
const mostLooks = 200;

/**
 * Adaptive hill climb: steps uphill, longer where the curve is flat, past the top; turns round and goes on four times finer.
 *
 * Model    from the start (or the lower end) to whichever side rises; a fall ends a run; three values about the highest
 *          give the top once the step is within twice the tolerance
 * Returns  the top of the three, known to a quarter of the last step; none where the range ends before the curve falls.
 * Throws   RangeError if the tolerance is not > 0.
 * Trust    stops at the first top it meets, and goes wherever noise points where the curve is flat.
 * Source   He, Zhou & Hong, IEEE Trans. Consum. Electron. 49, 257 (2003) (adaptive step; details our own)
 * Checked  property: tests/procedures/autofocus/classic.test.ts
 */
export function* hillClimb({ lowDpt: low, highDpt: high, startDpt, toleranceDpt: tolerance }: CurveRange): CurveSearch {
  requirePositive('toleranceDpt', tolerance, 'dpt');
  const seen: PeakSample[] = [];
  const within = (position: number) => Math.min(high, Math.max(low, position));
  function* look(position: number): Generator<number, number, number> {
    const known = seen.find((sample) => Math.abs(sample.position - position) < 1e-9);
    if (known) return known.value;
    const value = yield position;
    seen.push({ position, value });
    return value;
  }
  let step = firstShare * (high - low);
  let at = within(startDpt ?? low);
  let direction = at + step > high ? -1 : 1;
  let value = yield* look(at);
  for (;;) {
    let hasTurned = false;
    for (;;) {
      const height = Math.max(...seen.map((sample) => sample.value));
      const slope = seen.length < 2 ? 1 : Math.abs(value - (seen.at(-2)?.value ?? 0)) / Math.abs(height || 1);
      const next = within(at + direction * step * (slope < flatSlope && step > 2 * tolerance ? stretch : 1));
      const nextValue: number = next === at ? Number.NEGATIVE_INFINITY : yield* look(next);
      if (nextValue > value) {
        [at, value] = [next, nextValue];
      } else if (!hasTurned) {
        hasTurned = true;
        direction = -direction as 1 | -1;
      } else break;
      if (seen.length >= mostLooks) break;
    }
    const top = seen.reduce((a, b) => (b.value > a.value ? b : a));
    [at, value] = [top.position, top.value];
    if (step <= 2 * tolerance || seen.length >= mostLooks) break;
    step = Math.max(tolerance, step / finer);
  }
  if (at === low || at === high) {
    return { kind: 'none', reason: 'at-end', message: `The highest value lies at the end, ${at}` };
  }
  const sorted = [...seen].sort((a, b) => a.position - b.position);
  const index = sorted.findIndex(({ position }) => position === at);
  return { kind: 'top', focalPowerDpt: peakOfThree(sorted.slice(index - 1, index + 2)), focalPowerStdDpt: step / 4 };
}
