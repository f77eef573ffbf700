import type { CommissionOutcome } from '../app/index.js';
import { byUrgency, ledgerRowText, type NumberText } from '../report/index.js';
import { ledgerLine, textTable, verdictText, withMinusSigns } from './output.js';

/** A commissioning run as a page of text: the ledger, and where the handover lies. */
export function commissionText({ record, folder, reportFile }: CommissionOutcome): string {
  const rows = record.ledger.map((row) => {
    const text = ledgerRowText(row);
    return [
      text.title,
      row.unit,
      onOneLine(text.required),
      onOneLine(text.predicted),
      onOneLine(text.measured),
      verdictText(row.verdict),
    ];
  });
  const problems = byUrgency(record.ledger).filter((row) => row.verdict === 'fails' || row.verdict === 'marginal');
  return [
    `${record.station}: ${verdictText(record.verdict)}${record.simulated ? '  (SIMULATED station)' : ''}${record.state === 'complete' ? '' : `  (${record.state}: ${record.stateReason})`}`,
    '',
    textTable([['quantity', 'unit', 'required', 'predicted', 'measured', 'verdict'], ...rows]),
    '',
    '± is one standard uncertainty (1 σ); a value meets its requirement by two.',
    'Best focus holds at the reference temperature of the lens; while the run goes on it is told as found.',
    '',
    ...problems.map((row) => withMinusSigns(ledgerLine(row))),
    ...record.cautions.map((caution) => `Caution: ${caution}`),
    '',
    `Handover folder: ${folder}`,
    `Report: ${reportFile}`,
  ].join('\n');
}

/** Value and uncertainty; the unit has its own column. */
function onOneLine({ value, uncertainty }: NumberText): string {
  return [value, uncertainty].filter((part) => part !== '').join(' ');
}
