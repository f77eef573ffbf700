import { type Document, isCollection, isMap, isPair, isScalar, type Node, type Scalar } from 'yaml';
import type { z } from 'zod';
import { allowedInWords, receivedInWords } from './allowed-values.js';
import type { CrossCheckIssue } from './cross-checks.js';
import { type JsonSchemaNode, schemaAt } from './json-schema.js';
import { unknownKeyRemedy } from './key-suggestions.js';
import { numberInText } from './quantity-text.js';
import { keyPathText, type PlacedMessage } from './station-problem.js';
import type { Place } from './yaml-text.js';

/** The document a value is looked up in, and how its places are told. */
export interface Source {
  document: Document;
  placeOf: (offset: number) => Place;
  /** Where the schema of the station file describes a value; without it the value's own path. */
  stationPath?: (path: Path) => Path;
  /** Place of a value whose document has none, as a row of a table. */
  placeAt?: (path: Path) => Place;
}

type Path = (string | number)[];

const nodeAt = (path: Path, { stationPath }: Source) => schemaAt(stationPath ? stationPath(path) : path);

/** An issue of the schema, in words with its place: what is wrong, what is allowed with its unit, what to do. */
export function schemaIssueInWords(issue: z.core.$ZodIssue, source: Source): PlacedMessage[] {
  const path = issue.path as Path;
  if (issue.code === 'unrecognized_keys') {
    return issue.keys.map((key) =>
      placed(
        [...path, key],
        `${keyPathText([...path, key])} is not a known key; ${unknownKeyRemedy(source.stationPath?.(path) ?? path, key)}`,
        source,
      ),
    );
  }
  const value = source.document.getIn(path, false);
  if (issue.code === 'custom') return [crossCheckInWords({ path, input: value, message: issue.message }, source)];
  const node = nodeAt(path, source);
  const present = source.document.hasIn(path);
  const name = path.length === 0 ? 'the file' : keyPathText(path);
  if (!node) return [placed(path, `${name} is ${receivedInWords(value)}: ${issue.message}`, source)];
  if (!present) return [placed(path, missingInWords(name, node), source)];
  const plainValue = plain(value);
  return [
    placed(path, `${name} is ${receivedInWords(plainValue)}; ${allowedAndRemedy(plainValue, node, path)}`, source),
  ];
}

/** A relation between values that does not hold, in words with its place. */
export function crossCheckInWords({ path, input, message }: CrossCheckIssue, source: Source): PlacedMessage {
  const node = nodeAt(path, source);
  const unit = node && numberNodeOf(node)?.unit;
  const value = plain(input);
  const received = typeof value === 'number' ? ` is ${value}${unit ? ` ${unit}` : ''};` : '';
  return placed(path, `${keyPathText(path)}${received} ${message}`, source);
}

function missingInWords(name: string, node: JsonSchemaNode): string {
  const meaning = node.description ? `: ${node.description}` : '';
  return `${name} is missing${meaning}; give ${allowedInWords(node)}`;
}

function allowedAndRemedy(value: unknown, node: JsonSchemaNode, path: Path): string {
  const allowed = `allowed: ${allowedInWords(node)}`;
  const numeric = numberNodeOf(node);
  if (numeric && typeof value === 'string') {
    const meant = numberInText(value, numeric.unit ?? '');
    const advice =
      meant === null
        ? 'write a number without quotes or unit: the unit is in the key'
        : `write ${meant}: ${numeric.unit ? `the unit (${numeric.unit}) is in the key` : 'a number without quotes, with a decimal point'}`;
    return `${allowed}; ${advice}`;
  }
  if (path.length === 1 && path[0] === 'format') return `${allowed}; this version reads format 1 alone`;
  if (value === null && node.type === 'object') return `${allowed}; indent them by 2 spaces more than ${path.at(-1)}`;
  return node.description ? `${allowed}; it is the ${node.description}` : allowed;
}

/** The node of a number, also where null is allowed beside it. */
function numberNodeOf(node: JsonSchemaNode): JsonSchemaNode | null {
  if (node.anyOf) return node.anyOf.map(numberNodeOf).find((found) => found !== null) ?? null;
  return node.type === 'number' || node.type === 'integer' ? node : null;
}

const plain = (value: unknown): unknown => {
  if (isScalar(value)) return value.value;
  if (isMap(value)) return {};
  return isCollection(value) ? value.items : value;
};

function placed(path: Path, message: string, { document, placeOf, placeAt }: Source): PlacedMessage {
  return { ...(placeAt?.(path) ?? placeOf(offsetOf(document, path))), keyPath: keyPathText(path), message };
}

/** Where the value stands; for a missing key the group that it belongs in. */
function offsetOf(document: Document, path: Path): number {
  for (let length = path.length; length > 0; length--) {
    const parent = document.getIn(path.slice(0, length - 1), true) as Node | undefined;
    const key = path[length - 1]!;
    if (isMap(parent)) {
      const pair = parent.items.find((item) => isPair(item) && isScalar(item.key) && item.key.value === key);
      const found = (pair?.value as Node | null)?.range?.[0];
      const keyAt = (pair?.key as Scalar | undefined)?.range?.[0];
      if (length === path.length && found !== undefined && isScalar(pair?.value) && pair.value.source !== '')
        return found;
      if (keyAt !== undefined) return keyAt;
    }
    const item = typeof key === 'number' && isCollection(parent) ? (parent.items[key] as Node | undefined) : undefined;
    if (item?.range) return item.range[0];
  }
  return (document.contents as Node | null)?.range?.[0] ?? 0;
}
