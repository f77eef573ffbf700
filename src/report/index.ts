export * from './figures/index.js';
export * from './format-number.js';
export * from './handover-report.js';
export { byUrgency, type LedgerRowText, ledgerRowText, unitsKept } from './ledger-text.js';
export { pupilText } from './pupil-text.js';
export { allowedHalfWidthDpt } from './sections/run.js';
export * from './standalone-svg.js';
export * from './theme.js';
export * from './verdict-mark.js';
