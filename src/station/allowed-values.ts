import type { JsonSchemaNode } from './json-schema.js';

/** What a value may be, in words with its unit: "> 0 mm and ≤ 100000 mm", "object-side, at-stop or image-side". */
export function allowedInWords(node: JsonSchemaNode): string {
  if (node.anyOf) return node.anyOf.map(allowedInWords).join(', or ');
  if (node.const !== undefined) return String(node.const);
  if (node.enum) return orList(node.enum.map(String));
  switch (node.type) {
    case 'null':
      return 'null';
    case 'boolean':
      return 'true or false';
    case 'array':
      return `a list of ${node.minItems ?? 0} to ${node.maxItems} values, each ${allowedInWords(node.items ?? {})}`;
    case 'object':
      return `a group of keys: ${Object.keys(node.properties ?? {}).join(', ')}`;
    case 'string':
      return (
        node.inWords ??
        (node.pattern ? 'lower-case letters, digits and hyphens, at most 63' : 'a text that is not empty')
      );
    default:
      return `${node.type === 'integer' ? 'a whole number ' : ''}${rangeInWords(node)}`;
  }
}

function rangeInWords({ minimum, exclusiveMinimum, maximum, exclusiveMaximum, unit }: JsonSchemaNode): string {
  const u = unit ? ` ${unit}` : '';
  const parts: string[] = [];
  if (minimum !== undefined && (exclusiveMinimum === undefined || minimum > exclusiveMinimum))
    parts.push(`≥ ${minimum}${u}`);
  else if (exclusiveMinimum !== undefined) parts.push(`> ${exclusiveMinimum}${u}`);
  if (exclusiveMaximum !== undefined && exclusiveMaximum <= (maximum ?? exclusiveMaximum))
    parts.push(`< ${exclusiveMaximum}${u}`);
  else if (maximum !== undefined) parts.push(`≤ ${maximum}${u}`);
  return parts.join(' and ');
}

/** A received value in words: `-5`, `"340 mm"`, `empty`, `a list of 3`. */
export function receivedInWords(value: unknown): string {
  if (value === null || value === undefined) return 'empty';
  if (typeof value === 'string') return `"${value.length > 60 ? `${value.slice(0, 57)}…` : value}"`;
  if (Array.isArray(value)) return `a list of ${value.length}`;
  if (typeof value === 'object') return 'a group of keys';
  if (typeof value === 'number' && Number.isNaN(value)) return '.nan (not a number)';
  if (value === Infinity || value === -Infinity) return value > 0 ? '.inf (infinite)' : '-.inf (infinite)';
  return String(value);
}

/** "a, b or c". */
export function orList(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;
}
