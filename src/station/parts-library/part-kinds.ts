import type { z } from 'zod';
import { fixedLens, light, sensor, spacer, tunableLens } from '../part-schemas.js';

export type Sensor = z.output<typeof sensor>;
export type FixedLens = z.output<typeof fixedLens>;
export type TunableLens = z.output<typeof tunableLens>;
export type Light = z.output<typeof light>;
export type Spacer = z.output<typeof spacer>;

/** Parts to choose from, each kind in the order of its files. */
export interface PartsLibrary {
  sensors: Sensor[];
  fixedLenses: FixedLens[];
  tunableLenses: TunableLens[];
  lights: Light[];
  spacers: Spacer[];
}

/** Kind of part, as the station file names it under `parts`. */
export type PartKind = 'sensor' | 'fixedLens' | 'tunableLens' | 'light' | 'spacer';

/** Each kind with its schema, its list in a library and its name for a reader. */
export const partKinds = {
  sensor: { schema: sensor, list: 'sensors', words: 'sensor' },
  fixedLens: { schema: fixedLens, list: 'fixedLenses', words: 'fixed lens' },
  tunableLens: { schema: tunableLens, list: 'tunableLenses', words: 'tunable lens' },
  light: { schema: light, list: 'lights', words: 'light' },
  spacer: { schema: spacer, list: 'spacers', words: 'spacer' },
} as const satisfies Record<PartKind, { schema: z.ZodType; list: keyof PartsLibrary; words: string }>;

export const partKindNames = Object.keys(partKinds) as PartKind[];

export const isPartKind = (text: unknown): text is PartKind =>
  typeof text === 'string' && Object.hasOwn(partKinds, text);

export const emptyPartsLibrary = (): PartsLibrary => ({
  sensors: [],
  fixedLenses: [],
  tunableLenses: [],
  lights: [],
  spacers: [],
});
