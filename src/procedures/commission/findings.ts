import type { LedgerRow, Requirement, Verdict } from '../../base/index.js';
import type { AutofocusRecord, CalibrationRecord, ResolutionReading, Station } from '../../station/index.js';
import type { SettlingFinding } from './settling-check.js';

/** What the ledger is written from. */
export interface Findings {
  station: Station;
  /** false where the run was cancelled or failed: what is missing was not looked for. */
  complete: boolean;
  autofocus: readonly AutofocusRecord[];
  calibration: CalibrationRecord | null;
  resolution: readonly ResolutionReading[];
  /** Exposure in use, after adjustment; null before the camera was asked, and for a recording that does not tell it. */
  exposureMs: number | null;
  /** Recorded frames keep their exposure: nothing was adjusted. */
  recorded: boolean;
  /** null where it was not, or could not be, checked. */
  settling: SettlingFinding | null;
}

/** Standard deviations by which a value must stay inside its requirement, or two values may differ. */
export const sigmas = 2;

/**
 * Verdict on a measured value: `meets` inside the requirement by two standard deviations, `marginal` inside by less,
 * `fails` outside, `unknown` without a value.
 */
export function judgeMeasured(
  measured: { value: number; std: number | null } | null,
  { min, max }: Requirement,
): Verdict {
  if (measured === null) return 'unknown';
  const { value, std } = measured;
  const spare = Math.min(max === null ? Infinity : max - value, min === null ? Infinity : value - min);
  if (spare < 0) return 'fails';
  return spare < sigmas * (std ?? 0) ? 'marginal' : 'meets';
}

/** True where measured and predicted differ by more than two combined standard deviations. */
export function differs(row: Pick<LedgerRow, 'measured' | 'predicted'>): boolean {
  const { measured, predicted } = row;
  if (!measured || !predicted) return false;
  return Math.abs(measured.value - predicted.value) > sigmas * Math.hypot(measured.std ?? 0, predicted.std ?? 0);
}

/** Joins sentences that are there. */
export const sentences = (...parts: (string | null | false | undefined)[]): string => parts.filter(Boolean).join(' ');

/** What to do about a row that an early end left undecided. */
export const runAgain = 'Run the commissioning again.';

/** What is said where a calibration is missing. */
export function whyUncalibrated(calibration: CalibrationRecord | null): string {
  if (calibration?.kind === 'refused') return `Not measured: ${calibration.message}`;
  return 'Not measured: the run ended before the distance calibration.';
}
