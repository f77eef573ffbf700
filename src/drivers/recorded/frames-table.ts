import { parse } from 'csv-parse/sync';
import { FocuswrightError } from '../../base/index.js';

/** One row of frames.csv. */
export interface RecordedRow {
  /** Image file, relative to the folder. */
  file: string;
  focalPowerDpt: number;
  workingDistanceMm: number;
  temperatureDegC: number | null;
  exposureMs: number | null;
  /** Id of the device that exposed the frame, where the table says it. */
  source: string | null;
  /** Line in the table, for messages. */
  line: number;
}

interface Column {
  needed: boolean;
  unit: string;
  min: number;
  max: number;
}

/** Columns the driver reads; any others are left alone. */
const numberColumns: Record<'focalPowerDpt' | 'workingDistanceMm' | 'temperatureDegC' | 'exposureMs', Column> = {
  focalPowerDpt: { needed: true, unit: 'dpt', min: -50, max: 50 },
  workingDistanceMm: { needed: true, unit: 'mm', min: 0.001, max: 1_000_000 },
  temperatureDegC: { needed: false, unit: '°C', min: -60, max: 200 },
  exposureMs: { needed: false, unit: 'ms', min: 0, max: 3_600_000 },
};

/**
 * Reads the table of a folder of recorded frames.
 *
 * Model    first line: column names, in any order; `,` or `;` between them (`;` with decimal comma, as spreadsheets of
 *          many countries export); quotes and a byte-order mark are fine; further columns are ignored.
 * Returns  the rows in the order of the table.
 * Throws   `frames-table-invalid` listing every trouble with line, column, received value, allowed range and unit;
 *          `frames-folder-empty` for a table without rows.
 */
export function readFramesTable(text: string, about: { file: string }): RecordedRow[] {
  const firstLine = text.split(/\r?\n/, 1)[0] ?? '';
  const delimiter = firstLine.includes(';') ? ';' : ',';
  const invalid = (problems: string[], cause?: unknown) =>
    new FocuswrightError('frames-table-invalid', { file: about.file, problems: problems.slice(0, 20) }, { cause });
  let records: { info: { lines: number }; record: string[] }[];
  try {
    records = parse(text, {
      bom: true,
      delimiter,
      trim: true,
      skip_empty_lines: true,
      relax_column_count: true,
      info: true,
    }) as unknown as typeof records;
  } catch (cause) {
    throw invalid([cause instanceof Error ? cause.message : String(cause)], cause);
  }
  const header = records[0]?.record ?? [];
  const missing = [
    'file',
    ...Object.keys(numberColumns).filter((name) => numberColumns[name as keyof typeof numberColumns].needed),
  ].filter((name) => !header.includes(name));
  if (missing.length) {
    throw invalid(
      missing.map((name) => `column ${name} is missing${hint(name, header)}; found: ${header.join(', ') || 'nothing'}`),
    );
  }
  const problems: string[] = [];
  const rows = records.slice(1).map(({ info: { lines: line }, record: cells }): RecordedRow => {
    if (cells.length !== header.length) {
      problems.push(`line ${line}: ${cells.length} cells, but the header has ${header.length}`);
    }
    const read = (name: keyof typeof numberColumns): number | null => {
      const at = header.indexOf(name);
      const cell = at < 0 ? '' : (cells[at] ?? '');
      const { needed, min, max, unit } = numberColumns[name];
      if (cell === '' && !needed) return null;
      const value = cell === '' ? Number.NaN : Number(delimiter === ';' ? cell.replace(',', '.') : cell);
      if (Number.isFinite(value) && value >= min && value <= max) return value;
      problems.push(
        `line ${line}: ${name} is ${cell === '' ? 'empty' : `"${cell}"`}; allowed: ${min} … ${max} ${unit}, a plain number without its unit`,
      );
      return null;
    };
    const file = cells[header.indexOf('file')] ?? '';
    if (file === '') problems.push(`line ${line}: file is empty; give the name of the image file`);
    return {
      file,
      focalPowerDpt: read('focalPowerDpt') ?? Number.NaN,
      workingDistanceMm: read('workingDistanceMm') ?? Number.NaN,
      temperatureDegC: read('temperatureDegC'),
      exposureMs: read('exposureMs'),
      source: cells[header.indexOf('source')] || null,
      line,
    };
  });
  if (problems.length) throw invalid(problems);
  if (rows.length === 0) throw new FocuswrightError('frames-folder-empty', { file: about.file });
  return rows;
}

/** Points to a column that looks like the wanted one. */
function hint(name: string, header: readonly string[]): string {
  const stem = (text: string) =>
    text
      .toLowerCase()
      .replace(/[^a-z]/g, '')
      .replace(/(dpt|mm|cm)$/, '');
  const wanted = stem(name);
  const near = header.find((h) => stem(h).includes(wanted) || (stem(h).length > 3 && wanted.includes(stem(h))));
  return near ? ` (is it "${near}"? name it ${name}, the unit is part of the name)` : '';
}
