import type { LedgerRow } from '../../base/index.js';
import { notMeasured } from '../../station/index.js';
import { benchRows } from './bench-rows.js';
import { calibrationRows } from './calibration-rows.js';
import { type Findings, runAgain } from './findings.js';
import { focusRows } from './focus-rows.js';
import { reachRows } from './reach-rows.js';
import { resolutionRows } from './resolution-rows.js';

/**
 * Every quantity of a commissioning, measured beside predicted, with verdict, reason and remedy; then the requirements of
 * the plan that the bench does not measure, with the verdict that was predicted.
 */
export function commissionLedger(findings: Findings, planned: readonly LedgerRow[]): LedgerRow[] {
  const looked = [
    ...reachRows(findings),
    ...focusRows(findings),
    ...calibrationRows(findings),
    ...resolutionRows(findings),
    ...benchRows(findings),
  ].map((row) => (row.verdict === 'unknown' ? { ...row, remedy: remedyOfUnknown(row, findings) } : row));
  const keys = new Set(looked.map(({ key }) => key));
  const predictedAlone = planned
    .filter(({ key }) => !keys.has(key))
    .map((row): LedgerRow => ({ ...row, measured: null, measuredInWords: notMeasured }));
  return [...looked, ...predictedAlone];
}

/** Nothing is known to be wrong where nothing was measured: the way there is to measure it. */
function remedyOfUnknown(row: LedgerRow, { complete, calibration }: Findings): string | null {
  if (!complete) return runAgain;
  const ofCalibration = /^(reach|focus|calibration)\./.test(row.key);
  return ofCalibration && calibration?.kind === 'refused' ? calibration.remedy : row.remedy;
}
