import { requireInteger } from '../../../base/index.js';
import { fitPeak, logParabolaPeak, type PeakSample, parabolaPeak } from '../../../image/index.js';
import type { CurveRange, CurveSearch } from './curve-search.js';

/** How the top is taken from the values of a sweep. */
export type SweepFit = 'gaussian' | 'parabola';

/** Positions that a sweep looks at, where nobody says. */
export const sweepLookCount = 60;

/**
 * Full sweep: looks at the whole range in even steps, then fits the top.
 *
 * Model    'gaussian': least squares of a Gaussian on a baseline around the highest value (fitPeak); 'parabola': through
 *          the highest value and its neighbours
 * Returns  the fitted top, its standard deviation from the fit, or a twelfth of a step for the parabola; none where the
 *          curve is flat, has several tops, or is highest at an end.
 * Input    `powersDpt`: the only powers there are, increasing; null: `count` even steps.
 * Throws   RangeError if `count` is not a whole number ≥ 5.
 * Trust    a top narrower than two steps is met by chance only.
 * Source   common practice, no source; fits: fitPeak, parabolaPeak
 * Checked  recovery: tests/procedures/autofocus/classic.test.ts
 */
export function* fullSweep(
  { lowDpt: low, highDpt: high }: Pick<CurveRange, 'lowDpt' | 'highDpt'>,
  {
    fit,
    count = sweepLookCount,
    powersDpt = null,
  }: { fit: SweepFit; count?: number; powersDpt?: readonly number[] | null },
): CurveSearch {
  requireInteger('count', count, { min: 5 });
  const grid = Array.from({ length: count }, (_, i) =>
    i === count - 1 ? high : low + (i * (high - low)) / (count - 1),
  );
  const positions = powersDpt ?? grid;
  const values: number[] = [];
  for (const position of positions) values.push(yield position);
  const top = values.indexOf(Math.max(...values));
  if (fit === 'gaussian') {
    const found = fitPeak({ positions, values });
    if (found.kind === 'found') return { kind: 'top', focalPowerDpt: found.peak, focalPowerStdDpt: found.peakStd };
    if (found.reason === 'multiple') return { kind: 'none', reason: 'several-tops', message: found.message };
    if (found.reason === 'at-end') return { kind: 'none', reason: 'at-end', message: found.message };
    if (Math.max(...values) === Math.min(...values)) return { kind: 'none', reason: 'flat', message: found.message };
  }
  if (top === 0 || top === positions.length - 1) {
    return { kind: 'none', reason: 'at-end', message: `The highest value lies at the end, ${positions[top]}` };
  }
  const three = [-1, 0, 1].map((i) => ({ position: positions[top + i]!, value: values[top + i]! }));
  return {
    kind: 'top',
    focalPowerDpt: peakOfThree(three),
    focalPowerStdDpt: (three[2]!.position - three[0]!.position) / 24,
  };
}

/** Through the logarithms where it can be: a sharpness curve falls off like a Gaussian rather than a parabola. */
export function peakOfThree(samples: readonly PeakSample[]): number {
  const [a, b, c] = samples as [PeakSample, PeakSample, PeakSample];
  const peak = Math.min(a.value, b.value, c.value) > 0 ? logParabolaPeak([a, b, c]) : parabolaPeak([a, b, c]);
  const positions = samples.map(({ position }) => position);
  return Math.min(Math.max(...positions), Math.max(Math.min(...positions), peak ?? b.position));
}
