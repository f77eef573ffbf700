/**
 * What the tool says about one requirement or quantity: what was required, predicted and measured, with uncertainty,
 * and the verdict with its reason and remedy. The same row stands in the plan, the ledger of the page and the report.
 */

/** A verdict against the task. `unknown`: not enough is known to decide, and `reason` says what is missing. */
export type Verdict = 'meets' | 'marginal' | 'fails' | 'unknown';

/** A number with its standard uncertainty, in the unit of the row; `null` where none is known, and `note` says why. */
export interface Estimate {
  value: number;
  /** Standard uncertainty (one standard deviation). */
  std: number | null;
  note?: string;
}

/** The allowed range of a quantity; either end may be open. */
export interface Requirement {
  min: number | null;
  max: number | null;
}

/** One row of the ledger. */
export interface LedgerRow {
  /** Stable name, e.g. `reach.near` or `resolution.middle.mtfAtTask`. */
  key: string;
  /** In words, e.g. "Nearest distance in focus". */
  title: string;
  /** Unit for the reader: mm, dpt, ms, … or '' when dimensionless. */
  unit: string;
  required: Requirement | null;
  predicted: Estimate | null;
  measured: Estimate | null;
  /** Stands for a predicted number that there is none of, e.g. `infinity`. Only where `predicted` is null. */
  predictedInWords?: string;
  /** The same for a measured one. */
  measuredInWords?: string;
  verdict: Verdict;
  /** Why, with numbers and units. */
  reason: string;
  /** What to do, with numbers; null when nothing needs doing. */
  remedy: string | null;
  /** Formula or procedure, assumptions and source, for the reader who opens the row. */
  basis: string;
}

const rank: Record<Verdict, number> = { meets: 0, unknown: 1, marginal: 2, fails: 3 };

/** The worst of several verdicts; `unknown` for none. */
export function worstVerdict(verdicts: readonly Verdict[]): Verdict {
  if (verdicts.length === 0) return 'unknown';
  return verdicts.reduce((worst, v) => (rank[v] > rank[worst] ? v : worst));
}
