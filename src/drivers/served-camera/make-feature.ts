import type { EnumerationFeature, Feature, NumberFeature } from './features.js';

/** A text that never changes. */
export const knownText = (category: string, name: string, text: string, help: string): Feature => ({
  kind: 'string',
  category,
  name,
  help,
  text,
});

/** A number that never changes. */
export const knownNumber = (
  category: string,
  name: string,
  value: number,
  rest: { kind?: 'integer' | 'float'; help: string; unit?: string },
): Feature => ({ kind: 'integer', category, name, access: 'RO', min: value, max: value, start: value, ...rest });

/** A number that can be written. */
export const setNumber = (
  category: string,
  name: string,
  rest: Omit<NumberFeature, 'access'> & Pick<Feature, 'help' | 'visibility' | 'lockedBy'>,
): Feature => ({ category, name, access: 'RW', ...rest });

/** A number that only the camera changes. */
export const readNumber = (
  category: string,
  name: string,
  rest: Omit<NumberFeature, 'access'> & Pick<Feature, 'help' | 'visibility'>,
): Feature => ({ category, name, access: 'RO', ...rest });

/** A choice of entries, numbered in their order; the first is set at the start. */
export const choice = (
  category: string,
  name: string,
  entries: readonly string[],
  rest: Pick<Feature, 'help' | 'selects'> & Partial<EnumerationFeature>,
): Feature => ({
  kind: 'enumeration',
  category,
  name,
  access: 'RW',
  entries: Object.fromEntries(entries.map((entry, i) => [entry, i])),
  start: entries[0]!,
  ...rest,
});

export const command = (category: string, name: string, help: string): Feature => ({
  kind: 'command',
  category,
  name,
  help,
});
