import { readdir, readFile, stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { CsvError, parse } from 'csv-parse/sync';
import { FocuswrightError, systemReason } from '../base/index.js';
import { type PartsFile, type PartsLibrary, type PartsTable, readParts } from '../station/index.js';
import { packageFile } from './package-files.js';

const largestFileBytes = 1_000_000;
const kinds = /\.(ya?ml|csv)$/i;

/**
 * Reads a parts library: every YAML file and CSV table of a folder, or one such file; without a path the library that
 * ships with the package.
 *
 * Throws   `parts-unreadable`, `parts-invalid`.
 */
export async function loadParts(path: string = packageFile('parts')): Promise<PartsLibrary> {
  const files = await partsFilesAt(path);
  return readParts(await Promise.all(files.map(readPartsFile)));
}

async function partsFilesAt(path: string): Promise<string[]> {
  const found = await stat(path).catch((cause: unknown) => {
    throw unreadable({ path, reason: systemReason(cause) }, cause);
  });
  if (found.isFile()) {
    if (!kinds.test(path)) throw unreadable({ path, reason: 'not a .yaml or .csv file' });
    return [path];
  }
  const names = (await readdir(path)).filter((name) => kinds.test(name)).sort();
  if (names.length === 0) throw unreadable({ path, reason: 'no .yaml or .csv file in it' });
  return names.map((name) => join(path, name));
}

async function readPartsFile(path: string): Promise<PartsFile> {
  const fileName = basename(path);
  const { size } = await stat(path);
  if (size > largestFileBytes) throw unreadable({ path, bytes: size, allowed: `≤ ${largestFileBytes} bytes` });
  const text = await readFile(path, 'utf8').catch((cause: unknown) => {
    throw unreadable({ path, reason: systemReason(cause) }, cause);
  });
  return /\.csv$/i.test(path) ? { fileName, table: partsTable(text, fileName) } : { fileName, yaml: text };
}

/** A CSV text as a table: `,`, `;` or tab between the cells, quotes and a byte-order mark allowed. */
export function partsTable(text: string, fileName: string): PartsTable {
  const heading = text.split(/\r?\n/, 1)[0] ?? '';
  const delimiter = heading.includes(';') ? ';' : heading.includes('\t') ? '\t' : ',';
  try {
    const rows = parse(text, {
      bom: true,
      delimiter,
      trim: true,
      skip_empty_lines: true,
      relax_column_count: true,
      info: true,
    }) as unknown as { info: { lines: number }; record: string[] }[];
    const [first, ...rest] = rows;
    return {
      columns: first?.record ?? [],
      rows: rest.map(({ info, record }) => ({ line: info.lines, cells: record })),
      decimalComma: delimiter !== ',',
    };
  } catch (cause) {
    if (!(cause instanceof CsvError)) throw cause;
    throw new FocuswrightError('parts-invalid', { problems: [`${fileName}: ${cause.message}`] }, { cause });
  }
}

function unreadable(details: Record<string, string | number>, cause?: unknown): FocuswrightError {
  return new FocuswrightError('parts-unreadable', details, { cause });
}
