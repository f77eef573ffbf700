import { requireNumber, requirePositive } from '../../base/index.js';

/** What powers there are: a range, or (recorded frames) a list inside it. */
export interface AvailablePowers {
  powerMinDpt: number;
  powerMaxDpt: number;
  powersDpt: readonly number[] | null;
}

/** A run over focal power, in the order of execution. */
export interface SweepPlan {
  /** Where the lens goes first, without a frame, so that every point is approached from the same side; null: not needed. */
  approachDpt: number | null;
  powersDpt: readonly number[];
}

/**
 * Powers for a through-focus sweep.
 *
 * Model    evenly spaced from `lowDpt` to `highDpt`, both included, in steps of at most `stepDpt`, inside what is
 *          available; where only a list is available, its powers nearest to those. In the order of approach, after an
 *          overshoot on the far side that takes up the hysteresis.
 * Returns  powers that rise (approach from below) or fall; empty where nothing is available in the range.
 * Throws   RangeError if the step or overshoot is not > 0 or ≥ 0, or low > high.
 */
export function planSweep({
  lowDpt,
  highDpt,
  stepDpt,
  overshootDpt,
  approachFrom,
  available,
}: {
  lowDpt: number;
  highDpt: number;
  stepDpt: number;
  overshootDpt: number;
  approachFrom: 'below' | 'above';
  available: AvailablePowers;
}): SweepPlan {
  requirePositive('stepDpt', stepDpt, 'dpt');
  requireNumber('overshootDpt', overshootDpt, { min: 0, unit: 'dpt' });
  requireNumber('lowDpt', lowDpt, { max: highDpt, unit: 'dpt' });
  const low = Math.max(lowDpt, available.powerMinDpt);
  const high = Math.min(highDpt, available.powerMaxDpt);
  if (low > high) return { approachDpt: null, powersDpt: [] };
  const rising = risingPowers({ low, high, stepDpt, listDpt: available.powersDpt });
  const powersDpt = approachFrom === 'below' ? rising : rising.reverse();
  if (available.powersDpt !== null || overshootDpt === 0) return { approachDpt: null, powersDpt };
  const beyond = approachFrom === 'below' ? low - overshootDpt : high + overshootDpt;
  return { approachDpt: Math.min(available.powerMaxDpt, Math.max(available.powerMinDpt, beyond)), powersDpt };
}

function risingPowers({
  low,
  high,
  stepDpt,
  listDpt,
}: {
  low: number;
  high: number;
  stepDpt: number;
  listDpt: readonly number[] | null;
}): number[] {
  const steps = Math.max(1, Math.ceil((high - low) / stepDpt - 1e-9));
  // Rounding must not carry the last power past the limit.
  const grid =
    high === low
      ? [low]
      : Array.from({ length: steps + 1 }, (_, i) => Math.min(high, low + ((high - low) * i) / steps));
  if (listDpt === null) return grid;
  const inside = listDpt.filter((power) => power >= low - 1e-9 && power <= high + 1e-9);
  if (inside.length === 0) return [];
  const nearest = grid.map((wanted) => inside.reduce((a, b) => (Math.abs(b - wanted) < Math.abs(a - wanted) ? b : a)));
  return [...new Set(nearest)];
}
