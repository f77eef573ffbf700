import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { allowedInWords } from '../../src/station/allowed-values.js';
import { type JsonSchemaNode, schemaAt, stationJsonSchema } from '../../src/station/index.js';

const file = (path: string) => readFileSync(new URL(`../../${path}`, import.meta.url), 'utf8');

/** All keys with their paths, groups included. */
function keys(node: JsonSchemaNode, path: string[] = []): { path: string[]; node: JsonSchemaNode }[] {
  return Object.entries(node.properties ?? {}).flatMap(([key, child]) => [
    { path: [...path, key], node: child },
    ...keys(child, [...path, key]),
  ]);
}

describe('stationJsonSchema', () => {
  it('reference: the committed file is the schema in the code (scripts/write-schema.mjs writes it)', () => {
    expect(JSON.parse(file('schema/station.schema.json'))).toEqual(stationJsonSchema());
  });

  it('property: every key has a meaning, every number a range and a unit', () => {
    for (const { path, node } of keys(stationJsonSchema())) {
      expect(node.description, path.join('.')).toBeTruthy();
      const number = node.type === 'array' ? node.items! : (node.anyOf?.[0] ?? node);
      if (!['number', 'integer'].includes(number.type!) || number.const !== undefined || number.enum) continue;
      expect(number.minimum ?? number.exclusiveMinimum, path.join('.')).toBeDefined();
      expect(number.maximum ?? number.exclusiveMaximum, path.join('.')).toBeDefined();
      if (path.at(-1) !== 'seed') expect(number.unit, path.join('.')).toBeDefined();
    }
  });

  it('property: docs/station/station-file.md tells unit and allowed range of every key', () => {
    const page = file('docs/station/station-file.md');
    for (const { path, node } of keys(stationJsonSchema())) {
      const unit = node.unit ?? node.items?.unit ?? node.anyOf?.[0]?.unit ?? '';
      const allowed = node.properties ? 'a group, below' : allowedInWords(node);
      expect(page).toContain(`| \`${path.at(-1)}\` | ${unit} | ${allowed} |`);
    }
  });

  it('degenerate: an unknown path has no schema', () => {
    expect(schemaAt(['task', 'nearCm'])).toBeNull();
    expect(schemaAt(['task', 'planesMm', 3])).toMatchObject({ unit: 'mm' });
    expect(schemaAt(['toString'])).toBeNull();
  });
});
