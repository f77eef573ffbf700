import { memo, type ReactNode, useState } from 'react';
import type { LedgerRow, Verdict } from '../../base/index.js';
import { type LedgerRowText, ledgerRowText, type NumberText } from '../../report/index.js';
import { VerdictMark } from './verdict.js';

/** One row per requirement or quantity: required · predicted · measured · verdict; a row opens to reason and basis. */
export function Ledger({ rows, title, note }: { rows: readonly LedgerRow[]; title: string; note?: ReactNode }) {
  return (
    <section className="ledger" aria-label={title}>
      <h2>{title}</h2>
      <p className="soft ledger-key">± one standard uncertainty (1 σ). A row opens to its reason.</p>
      {note}
      {rows.map((row) => (
        <Row
          key={row.key}
          text={ledgerRowText(row)}
          verdict={row.required !== null || row.verdict !== 'unknown' ? row.verdict : null}
        />
      ))}
    </section>
  );
}

/** One row; while a value is dragged, those whose numbers and words stay are not rendered again. */
const Row = memo(
  ({ text, verdict }: { text: LedgerRowText; verdict: Verdict | null }) => {
    const [open, setOpen] = useState(false);
    return (
      <details className="ledger-row" onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>
          <span className="ledger-title">{text.title}</span>
          {verdict && <VerdictMark verdict={verdict} />}
          <span className="ledger-numbers">
            <Cell name="required" number={text.required} />
            <Cell name="predicted" number={text.predicted} />
            <Cell name="measured" number={text.measured} />
          </span>
        </summary>
        {open && <Basis text={text} />}
      </details>
    );
  },
  (before, now) => before.verdict === now.verdict && sameText(before.text, now.text),
);

/** What an opened row tells: why, what helps, and what it rests on. */
function Basis({ text }: { text: LedgerRowText }) {
  return (
    <>
      <p>{text.reason}</p>
      {text.remedy !== null && (
        <p>
          <b>Remedy</b> {text.remedy}
        </p>
      )}
      <p className="soft">{text.basis}</p>
      {text.notes.map((note) => (
        <p key={note} className="soft">
          <p className="soft ledger-key">± one standard uncertainty (1 σ). A row opens to its reason.</p>
          {note}
        </p>
      ))}
    </>
  );
}

/** True where both rows read the same. */
function sameText(a: LedgerRowText, b: LedgerRowText): boolean {
  const sameNumber = (x: NumberText, y: NumberText) =>
    x.value === y.value && x.uncertainty === y.uncertainty && x.unit === y.unit;
  return (
    a.title === b.title &&
    sameNumber(a.required, b.required) &&
    sameNumber(a.predicted, b.predicted) &&
    sameNumber(a.measured, b.measured) &&
    a.reason === b.reason &&
    a.remedy === b.remedy &&
    a.basis === b.basis &&
    a.notes.join() === b.notes.join()
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
