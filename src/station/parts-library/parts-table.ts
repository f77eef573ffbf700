import { Document } from 'yaml';
import { orList } from '../allowed-values.js';
import { type JsonSchemaNode, schemaAt } from '../json-schema.js';
import { unknownKeyRemedy } from '../key-suggestions.js';
import type { PlacedMessage } from '../station-problem.js';
import { type CheckedPart, checkPart } from './checked-part.js';
import { isPartKind, type PartKind, partKindNames } from './part-kinds.js';

/** A datasheet table as its CSV file holds it: one row a part, columns named like the keys of the station file. */
export interface PartsTable {
  columns: readonly string[];
  rows: readonly { line: number; cells: readonly string[] }[];
  /** Numbers are written with a comma, as spreadsheets of many countries export them between semicolons. */
  decimalComma: boolean;
}

/**
 * Parts of a datasheet table. The column `kind` says which part a row is; a key of an inner group is written with a
 * dot, as `tolerance.focalLengthMm`. An empty cell is a key left out.
 */
export function partsFromTable({ columns, rows, decimalComma }: PartsTable): {
  parts: CheckedPart[];
  problems: PlacedMessage[];
} {
  const problems: PlacedMessage[] = columnProblems(columns);
  const parts: CheckedPart[] = [];
  if (problems.length === 0 && rows.length === 0) {
    problems.push({ line: 1, column: 1, keyPath: '', message: 'the table has no rows; write one row for each part' });
  }
  const kindColumn = columns.indexOf('kind');
  for (const { line, cells } of problems.length > 0 ? [] : rows) {
    const placeAt = (path: readonly (string | number)[]) => ({
      line,
      column: Math.max(0, columns.indexOf(path.join('.'))) + 1,
    });
    if (cells.length !== columns.length) {
      const message = `the row has ${cells.length} cells, the heading ${columns.length}; put text that holds the separator in quotes`;
      problems.push({ line, column: 1, keyPath: '', message });
      continue;
    }
    const kind = cells[kindColumn]!.trim();
    if (!isPartKind(kind)) {
      const message = `kind is "${kind}"; allowed: ${orList(partKindNames)}`;
      problems.push({ ...placeAt(['kind']), keyPath: 'kind', message });
      continue;
    }
    const value = partOfRow(kind, columns, decimalComma ? cells.map(withPoint) : cells);
    const source = { document: new Document(value), placeOf: () => ({ line, column: 1 }), placeAt };
    const checked = checkPart({ kind, value, path: [], source });
    problems.push(...checked.problems);
    if (checked.part)
      parts.push({ kind, part: checked.part, place: { ...placeAt(['name']), keyPath: 'name', message: '' } });
  }
  return { parts, problems };
}

function columnProblems(columns: readonly string[]): PlacedMessage[] {
  const at = (i: number, message: string): PlacedMessage => ({
    line: 1,
    column: i + 1,
    keyPath: columns[i] ?? '',
    message,
  });
  const list = columns.flatMap((name, i) => {
    if (columns.indexOf(name) < i) return [at(i, `the column ${name} is there twice; keep one of the two`)];
    if (name === 'kind' || partKindNames.some((kind) => nodeOf(kind, name) !== null)) return [];
    const path = name.split('.');
    const remedies = partKindNames.map((kind) => unknownKeyRemedy(['parts', kind, ...path.slice(0, -1)], path.at(-1)!));
    const remedy =
      remedies.find((text) => text.startsWith('did you mean')) ??
      'columns are named like the keys of a part in the station file';
    return [at(i, `the column ${name || '(without a name)'} is not a key of any part; ${remedy}`)];
  });
  if (!columns.includes('kind'))
    list.unshift(at(0, `the column kind is missing; give ${orList(partKindNames)} in each row`));
  return list;
}

/** The schema of a single value of a part; null for a group and for what the part does not have. */
function nodeOf(kind: PartKind, column: string): JsonSchemaNode | null {
  const node = schemaAt(['parts', kind, ...column.split('.')]);
  return node && node.type !== 'object' ? node : null;
}

const withPoint = (cell: string) => (/^\s*[+-]?\d+,\d+(e[+-]?\d+)?\s*$/i.test(cell) ? cell.replace(',', '.') : cell);

function partOfRow(kind: PartKind, columns: readonly string[], cells: readonly string[]): Record<string, unknown> {
  const value: Record<string, unknown> = {};
  columns.forEach((column, i) => {
    const text = cells[i]!.trim();
    if (text === '' || column === 'kind') return;
    const path = column.split('.');
    let group = value;
    for (const key of path.slice(0, -1)) {
      group[key] ??= {};
      group = group[key] as Record<string, unknown>;
    }
    group[path.at(-1)!] = valueOfCell(text, nodeOf(kind, column));
  });
  return value;
}

/** A number where the key holds one and the cell is one; else the text, which the schema then refuses with advice. */
function valueOfCell(text: string, node: JsonSchemaNode | null): string | number {
  return node !== null && !holdsText(node) && /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text) ? Number(text) : text;
}

const holdsText = (node: JsonSchemaNode) => node.type === 'string' || typeof node.enum?.[0] === 'string';
