import type { Estimate, LedgerRow, Verdict } from '../base/index.js';
import { formatEstimate, formatRequirement, type NumberText } from './format-number.js';
import { type VerdictMark, verdictMarks } from './verdict-mark.js';

/** A row of the ledger as texts: the same on the page and in the report. */
export interface LedgerRowText {
  key: string;
  title: string;
  required: NumberText;
  predicted: NumberText;
  measured: NumberText;
  verdict: VerdictMark;
  reason: string;
  remedy: string | null;
  basis: string;
  /** Why a number has no uncertainty, where the row says so. */
  notes: string[];
}

/** Texts of one row. Units stand beside each number; a missing number is a dash. */
export function ledgerRowText(row: LedgerRow): LedgerRowText {
  return {
    key: row.key,
    title: unitsKept(row.title),
    required: formatRequirement(row.required, row.unit),
    predicted: numberOrWords(row.predicted, row.predictedInWords, row.unit),
    measured: numberOrWords(row.measured, row.measuredInWords, row.unit),
    verdict: verdictMarks[row.verdict],
    reason: unitsKept(row.reason),
    remedy: row.remedy && unitsKept(row.remedy),
    basis: unitsKept(row.basis),
    notes: [
      ...(row.predicted?.note ? [`Predicted: ${row.predicted.note}`] : []),
      ...(row.measured?.note ? [`Measured: ${row.measured.note}`] : []),
    ],
  };
}

/** A sentence in which no line ends between a number and its unit. */
export const unitsKept = (text: string): string =>
  text.replace(/(\d) (?=(?:mm|µm|nm|dpt|ms|s|px|DN|%|°C|Hz|waves|cycles|lp)(?![a-z]))/g, '$1\u202F');

function numberOrWords(estimate: Estimate | null, words: string | undefined, unit: string): NumberText {
  return estimate === null && words ? { value: words, uncertainty: '', unit: '' } : formatEstimate(estimate, unit);
}

const urgency: Record<Verdict, number> = { fails: 0, marginal: 1, unknown: 2, meets: 3 };

/** Worst first; rows of one verdict keep their order. */
export const byUrgency = (rows: readonly LedgerRow[]): LedgerRow[] =>
  [...rows].sort((a, b) => urgency[a.verdict] - urgency[b.verdict]);
