import type { ReactNode } from 'react';
import type { LedgerRow } from '../../base/index.js';
import { ledgerRowText, type NumberText } from '../../report/index.js';
import { VerdictMark } from './verdict.js';

/** One row per requirement or quantity: required · predicted · measured · verdict; a row opens to reason and basis. */
export function Ledger({ rows, title, note }: { rows: readonly LedgerRow[]; title: string; note?: ReactNode }) {
  return (
    <section className="ledger" aria-label={title}>
      <h2>{title}</h2>
      {note}
      {rows.map((row) => (
        <Row key={row.key} row={row} />
      ))}
    </section>
  );
}

function Row({ row }: { row: LedgerRow }) {
  const text = ledgerRowText(row);
  return (
    <details className="ledger-row">
      <summary>
        <span className="ledger-title">{text.title}</span>
        {(row.required !== null || row.verdict !== 'unknown') && <VerdictMark verdict={row.verdict} />}
        <span className="ledger-numbers">
          <Cell name="required" number={text.required} />
          <Cell name="predicted" number={text.predicted} />
          <Cell name="measured" number={text.measured} />
        </span>
      </summary>
      <p>{text.reason}</p>
      {text.remedy !== null && (
        <p>
          <b>Remedy</b> {text.remedy}
        </p>
      )}
      <p className="soft">{text.basis}</p>
      {text.notes.map((note) => (
        <p key={note} className="soft">
          {note}
        </p>
      ))}
    </details>
  );
}

function Cell({ name, number }: { name: 'required' | 'predicted' | 'measured'; number: NumberText }) {
  return (
    <span className={`ledger-cell ledger-${name}`}>
      <span className="ledger-name">{name}</span> {number.value}{' '}
      {number.uncertainty && <small>{number.uncertainty}</small>}{' '}
      {number.unit && <span className="unit">{number.unit}</span>}
    </span>
  );
}
