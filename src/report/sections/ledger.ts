import type { LedgerRow } from '../../base/index.js';
import { ledgerRowText } from '../ledger-text.js';
import { element, type Markup } from '../markup.js';
import { sentence } from './heading.js';
import { foldable, numberMarkup, paragraph, section, verdictMarkup } from './parts.js';
import type { HandoverInput } from './run.js';

/** Required · predicted · measured · verdict, one row for each requirement or quantity; each opens to its basis. */
export function ledgerSection({ commission }: HandoverInput): Markup {
  const measured = commission.simulated ? 'Measured (simulated)' : 'Measured';
  const columns = ['Quantity', 'Required', 'Predicted', measured, 'Verdict'];
  if (commission.ledger.length === 0) {
    return section('ledger', 'Ledger', paragraph('The ledger is empty: nothing was decided in this run.'));
  }
  return section(
    'ledger',
    'Ledger',
    paragraph('Uncertainties are one standard uncertainty; a number without one has none known.'),
    element(
      'table',
      { class: 'ledger' },
      element('caption', {}, 'What the task requires, what the model predicts, what was measured'),
      element(
        'thead',
        {},
        element(
          'tr',
          {},
          columns.map((column) => element('th', { scope: 'col' }, column)),
        ),
      ),
      commission.ledger.map((row) => rowMarkup(row, columns)),
    ),
  );
}

function rowMarkup(row: LedgerRow, columns: readonly string[]): Markup {
  const text = ledgerRowText(row);
  const cells = [numberMarkup(text.required), numberMarkup(text.predicted), numberMarkup(text.measured)];
  return element(
    'tbody',
    { id: `row-${text.key.replace(/[^A-Za-z0-9.-]/g, '-')}` },
    element(
      'tr',
      {},
      element('th', { scope: 'row' }, text.title),
      cells.map((cell, i) => element('td', { 'data-column': columns[i + 1], class: 'figure-cell' }, cell)),
      element('td', { 'data-column': columns[4] }, verdictMarkup(row.verdict)),
    ),
    element(
      'tr',
      { class: 'why' },
      element(
        'td',
        { colspan: columns.length },
        element('span', {}, `${sentence(text.reason)} `),
        text.remedy !== null && element('em', {}, sentence(text.remedy)),
        foldable(
          'Basis',
          {},
          paragraph(text.basis),
          text.notes.map((note) => paragraph(sentence(note))),
        ),
      ),
    ),
  );
}
