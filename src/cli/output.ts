import { styleText } from 'node:util';
import { FocuswrightError, type LedgerRow, type Verdict } from '../base/index.js';
import { exitCodeOf } from './exit-codes.js';

/** Writes a result to standard output: as JSON when asked, else as text. */
export function writeResult(result: unknown, { json, text }: { json: boolean | undefined; text: () => string }): void {
  process.stdout.write(`${json ? JSON.stringify(result, null, 2) : text()}\n`);
}

/** Writes an error for a person to standard error, and for a program to standard output; sets the exit code. */
export function reportError(error: unknown, { json }: { json: boolean }): void {
  process.exitCode = exitCodeOf(error);
  if (!(error instanceof FocuswrightError)) {
    process.stderr.write(
      `focuswright: a defect in the program: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
    );
    return;
  }
  process.stderr.write(`focuswright: ${error.message}\n  ${error.remedy}\n`);
  if (json) {
    const { code, message, details, remedy } = error;
    process.stdout.write(`${JSON.stringify({ error: { code, message, details, remedy } }, null, 2)}\n`);
  }
}

const marks: Record<Verdict, { mark: string; style: 'green' | 'yellow' | 'red' | 'dim' }> = {
  meets: { mark: '●', style: 'green' },
  marginal: { mark: '◐', style: 'yellow' },
  fails: { mark: '✕', style: 'red' },
  unknown: { mark: '⊙', style: 'dim' },
};

/** A verdict as shape and word, coloured on a terminal only. */
export function verdictText(verdict: Verdict): string {
  const { mark, style } = marks[verdict];
  const text = `${mark} ${verdict}`;
  return process.stdout.isTTY ? styleText(style, text) : text;
}

/** A row of a ledger in words: verdict, what, why, what to do. A reason that begins with its verdict does not say it twice. */
export function ledgerLine({ verdict, title, reason, remedy }: LedgerRow): string {
  const why = verdict === 'fails' ? reason.replace(/^Fails: /, '') : reason;
  return `${verdictText(verdict)}  ${title}: ${why}${remedy ? `\n    → ${remedy}` : ''}`;
}

/** Minus signs before numbers; hyphens of names, dates and standards stay. */
export const withMinusSigns = (text: string): string => text.replace(/(?<![\p{L}\d._/-])-(?=\d)/gu, '−');

/** Lines a table up: first column left, others right. */
export function textTable(rows: readonly (readonly string[])[]): string {
  const widths = (rows[0] ?? []).map((_, column) => Math.max(...rows.map((row) => [...(row[column] ?? '')].length)));
  return rows
    .map((row) =>
      row
        .map((cell, column) => {
          const room = ' '.repeat(Math.max(0, widths[column]! - [...cell].length));
          return column === 0 ? cell + room : room + cell;
        })
        .join('  ')
        .trimEnd(),
    )
    .join('\n');
}
