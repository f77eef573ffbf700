import type { LedgerRow, Requirement, Verdict } from '../base/index.js';

/**
 * The thresholds of `marginal`, in one place. A requirement is met with less than this share of its limit to spare:
 * `default` for computed quantities, `field` for sizes that follow from the layout alone. Reach and focus budget are
 * judged against their own tolerances: see reach.ts and focus-budget.ts.
 */
export const marginalShare = { default: 0.1, field: 0.03 } as const;

/** Remedies aim a little past the threshold of `marginal`, so that a rounded value still meets. */
export const remedyShare = 0.12;

/** What a row would like turned, so that wishes of several rows can be weighed against each other. */
export interface Wish {
  dial: 'exposureMs' | 'fNumber' | 'light';
  direction: 'up' | 'down';
  /** The requirement, in words. */
  by: string;
  /** How far, in the unit of the dial, where the row knows. */
  value?: number;
}

/** A ledger row with how much is to spare, as a share of its limit; negative where it fails. For the order of reasons. */
export interface PlanRow extends LedgerRow {
  spareFraction: number;
  /** Of a row that is not met; any one of them may be enough. */
  wishes?: readonly Wish[];
}

/** `meets`, `marginal` or `fails` by how far a value stays inside its requirement. */
export function judged({
  value,
  required: { min, max },
  marginalFraction = marginalShare.default,
}: {
  value: number;
  required: Requirement;
  marginalFraction: number | undefined;
}): { verdict: Verdict; spareFraction: number } {
  const below = min === null ? Number.POSITIVE_INFINITY : (value - min) / (Math.abs(min) || 1);
  const above = max === null ? Number.POSITIVE_INFINITY : (max - value) / (Math.abs(max) || 1);
  const spareFraction = Math.min(below, above);
  return {
    spareFraction,
    verdict: spareFraction < 0 ? 'fails' : spareFraction < marginalFraction ? 'marginal' : 'meets',
  };
}

/** A row whose value is compared with its requirement; `remedy` is asked for only where there is something to do. */
export function comparedRow({
  key,
  title,
  unit,
  basis,
  value,
  required,
  marginalFraction,
  remedy,
  wishes,
  reason,
}: Pick<LedgerRow, 'key' | 'title' | 'unit' | 'reason' | 'basis'> & {
  value: number;
  required: Requirement;
  marginalFraction?: number;
  remedy: () => string | null;
  wishes?: () => readonly Wish[];
}): PlanRow {
  const { verdict, spareFraction } = judged({ value, required, marginalFraction });
  const row: PlanRow = {
    key,
    title,
    unit,
    basis,
    required,
    predicted: { value, std: null, note: 'of the layout as written; tolerances are not carried into it' },
    measured: null,
    verdict,
    reason: `${opening[verdict]}${reason}`,
    remedy: verdict === 'meets' ? null : remedy(),
    spareFraction,
  };
  if (verdict !== 'meets' && wishes) row.wishes = wishes();
  return row;
}

/** How the reason of a verdict begins. */
export const opening: Record<Verdict, string> = {
  meets: '',
  marginal: 'Only just: ',
  fails: 'Fails: ',
  unknown: 'Not known: ',
};
