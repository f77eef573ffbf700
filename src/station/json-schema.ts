import { z } from 'zod';
import { stationSchema } from './schema.js';

/** A node of the published JSON Schema, as far as this folder reads it. */
export interface JsonSchemaNode {
  type?: 'object' | 'array' | 'string' | 'number' | 'integer' | 'boolean' | 'null';
  description?: string;
  /** Unit for the reader; '' for a dimensionless number. */
  unit?: string;
  /** What a text may be, for the reader. */
  inWords?: string;
  properties?: Record<string, JsonSchemaNode>;
  required?: string[];
  items?: JsonSchemaNode;
  anyOf?: JsonSchemaNode[];
  enum?: (string | number)[];
  const?: string | number;
  default?: unknown;
  pattern?: string;
  minimum?: number;
  exclusiveMinimum?: number;
  maximum?: number;
  exclusiveMaximum?: number;
  minItems?: number;
  maxItems?: number;
}

/**
 * The published JSON Schema of a station file: what an engineer may write, with units, ranges and meanings.
 *
 * Trust    relations between two values (near < far, park power inside the limits …) are checked by readStation alone.
 */
export function stationJsonSchema(): JsonSchemaNode & Record<string, unknown> {
  const { $schema, ...rest } = z.toJSONSchema(stationSchema, { io: 'input' });
  return {
    $schema,
    $id: 'urn:focuswright:station:1',
    title: 'Focuswright station file, format 1',
    description: 'Task, parts, layout and controls of one machine-vision station with a tunable lens.',
    ...(rest as JsonSchemaNode),
  };
}

/** A key's place in the file: names, and indices of lists. */
export type KeyPath = readonly (string | number)[];

let published: JsonSchemaNode | undefined;

/** The schema of the value at a path; `null` where no such key is allowed. */
export function schemaAt(path: KeyPath): JsonSchemaNode | null {
  published ??= stationJsonSchema();
  let at: JsonSchemaNode | undefined = published;
  for (const key of path) {
    if (typeof key === 'number') at = at.items;
    else at = at.properties && Object.hasOwn(at.properties, key) ? at.properties[key] : undefined;
    if (!at) return null;
  }
  return at;
}

/** Every key of the file with its path, groups included. */
export function allKeys(): { path: string[]; node: JsonSchemaNode }[] {
  const walk = (path: string[], node: JsonSchemaNode): { path: string[]; node: JsonSchemaNode }[] =>
    Object.entries(node.properties ?? {}).flatMap(([key, child]) => [
      { path: [...path, key], node: child },
      ...walk([...path, key], child),
    ]);
  return walk([], schemaAt([])!);
}
