import type { Estimate, LedgerRow, Verdict } from '../../base/index.js';

/** A row of what was measured: what is not said is not there. */
export function measuredRow({
  key,
  title,
  unit = '',
  measured,
  predicted = null,
  least = null,
  reason,
  basis,
  ...rest
}: {
  key: string;
  title: string;
  unit?: string;
  measured: Estimate | null;
  predicted?: Estimate | null;
  /** The least that the task needs. */
  least?: number | null;
  reason: string;
  basis: string;
  remedy?: string | null;
  measuredInWords?: string;
}): LedgerRow {
  return {
    key: `measure.${key}`,
    title,
    unit,
    required: least === null ? null : { min: least, max: null },
    predicted,
    measured,
    verdict: verdictOf(measured, least),
    reason,
    remedy: null,
    basis,
    ...rest,
  };
}

/** Two standard deviations decide between meets and marginal. */
function verdictOf(measured: Estimate | null, least: number | null): Verdict {
  if (measured === null || least === null) return 'unknown';
  if (measured.value < least) return 'fails';
  return measured.value - 2 * (measured.std ?? 0) < least ? 'marginal' : 'meets';
}

/** A value with its standard deviation, or nothing. */
export const estimateOf = (value: number | null, std: number | null = null): Estimate | null =>
  value === null ? null : { value, std };
