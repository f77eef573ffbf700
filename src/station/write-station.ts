import { isScalar, parseDocument, stringify } from 'yaml';
import { type KeyPath, schemaAt } from './json-schema.js';
import type { StationInput } from './schema.js';
import { keyPathText } from './station-problem.js';
import { documentOf, keepWithNumber, parseYamlText } from './yaml-text.js';

/** A value of a station file. */
export type StationValue = string | number | boolean | null | readonly number[];

/** A station as YAML text, in the order of its keys. */
export function stationToYaml(station: StationInput): string {
  return stringify(station, { lineWidth: 120 });
}

/** What a station file's text says at a path, allowed or not; undefined where it says nothing, or is no YAML of the allowed kind. */
export function stationValueAt(yamlText: string, path: KeyPath): unknown {
  const parsed = parseYamlText(yamlText);
  return parsed.kind === 'parsed' ? parsed.document.getIn(path) : undefined;
}

/**
 * A station file's text with one value changed; comments, order and every other character stay.
 *
 * Input    text that checkStation calls valid or invalid; the key's path, e.g. ['layout', 'fNumber']
 * Returns  the new text, unchecked: give it to checkStation. A key that is not there yet is added to its group, and
 *          then, or for a list, the file is laid out anew with its comments kept.
 * Throws   RangeError for a path that no station file has.
 */
export function setStationValue(yamlText: string, path: KeyPath, value: StationValue): string {
  const node = schemaAt(path);
  if (!node || node.type === 'object') {
    throw new RangeError(`path is ${keyPathText(path)}; allowed: the path of a single value of the station file`);
  }
  const old = documentOf(yamlText).document.getIn(path, true);
  if (isScalar(old) && old.range && old.source && !Array.isArray(value)) {
    const [start, end] = old.range;
    const source = stringify(value, { lineWidth: 0 }).trimEnd();
    const text = `${yamlText.slice(0, start)}${source}${yamlText.slice(end)}`;
    if (typeof value === 'number' && typeof old.value === 'number') keepWithNumber({ text, node: old, value, source });
    return text;
  }
  const document = parseDocument(yamlText);
  document.setIn(path, document.createNode(value, { flow: Array.isArray(value) }));
  return document.toString({ lineWidth: 0 });
}
