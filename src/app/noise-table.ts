import { parse } from 'csv-parse/sync';
import { FocuswrightError } from '../base/index.js';

/** One frame of a noise measurement, as its table says. */
export interface NoiseFrame {
  /** Image file, relative to the folder. */
  file: string;
  exposureMs: number | null;
  dark: boolean;
  /** Frames of one level share it. */
  key: string;
}

/** Columns that make a level: frames alike in all of them are repeats. Any others are left alone. */
const levelColumns = ['exposureMs', 'light', 'level', 'focalPowerDpt', 'workingDistanceMm'];

/**
 * Reads the table of a folder of frames for a noise measurement.
 *
 * Model    first line: column names; `file` is needed; `exposureMs`, `light` (`on` or `off`; empty: on), `level` (any text, where
 *          something else than the exposure was changed); `,` or `;` between cells
 * Throws   `frames-table-invalid` listing every trouble with line, column, received value and what is allowed;
 *          `frames-folder-empty` for a table without rows.
 */
export function readNoiseTable(text: string, file: string): NoiseFrame[] {
  const delimiter = (text.split(/\r?\n/, 1)[0] ?? '').includes(';') ? ';' : ',';
  const invalid = (problems: string[], cause?: unknown) =>
    new FocuswrightError(
      'frames-table-invalid',
      { file, problems: problems.slice(0, 20) },
      { cause, remedy: 'Needed column: file; read as well: exposureMs, light, level; see docs/image/noise.md.' },
    );
  let rows: Record<string, string>[];
  try {
    rows = parse(text, { bom: true, delimiter, trim: true, skip_empty_lines: true, columns: true });
  } catch (cause) {
    throw invalid([cause instanceof Error ? cause.message : String(cause)], cause);
  }
  if (rows.length === 0) throw new FocuswrightError('frames-folder-empty', { file });
  const problems: string[] = [];
  const frames = rows.map((row, index): NoiseFrame => {
    const line = index + 2;
    if (!row.file) problems.push(`line ${line}: file is empty; give the name of the image file`);
    if (row.file && (/^([/\\]|\w:)/.test(row.file) || row.file.split(/[/\\]/).includes('..'))) {
      problems.push(`line ${line}: ${row.file} lies outside the folder`);
    }
    const exposure = row.exposureMs ?? '';
    const exposureMs = exposure === '' ? null : Number(delimiter === ';' ? exposure.replace(',', '.') : exposure);
    if (exposureMs !== null && !(exposureMs >= 0 && exposureMs <= 3_600_000)) {
      problems.push(
        `line ${line}: exposureMs is "${exposure}"; allowed: 0 … 3600000 ms, a plain number without its unit`,
      );
    }
    const light = (row.light ?? '').toLowerCase();
    if (!['', 'on', 'off'].includes(light)) problems.push(`line ${line}: light is "${row.light}"; allowed: on, off`);
    const key = JSON.stringify(levelColumns.map((name) => row[name] ?? ''));
    return { file: row.file ?? '', exposureMs, dark: light === 'off', key };
  });
  if (problems.length) throw invalid(problems);
  return frames;
}
