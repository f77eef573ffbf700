/** A feature of a served camera: the one description behind its register, its checks and its place in the GenICam file. */
export type Feature = Named &
  (NumberFeature | SwitchFeature | EnumerationFeature | CommandFeature | StringFeature | StandardRegister);

interface Named {
  name: string;
  category: string;
  /** One sentence for whoever reads the feature in a client. */
  help: string;
  visibility?: 'Beginner' | 'Expert' | 'Guru' | 'Invisible';
  /** Name of a feature that is not 0 while this one cannot be written. */
  lockedBy?: string;
  /** Names of the features that this selector selects. */
  selects?: readonly string[];
}

/** `integer` lies in a register of 4 bytes, `float` in one of 8. */
export interface NumberFeature {
  kind: 'integer' | 'float';
  access: 'RO' | 'RW';
  min: number;
  max: number;
  /** Distance of the values that can be had, from `min` on. Other whole numbers are refused; a float is rounded by the camera. */
  increment?: number;
  unit?: string;
  start: number;
  /** The most that can be written now: the first feature's value less the second's. */
  maxLess?: readonly [string, string];
}

/** On is 1, off is 0. */
export interface SwitchFeature {
  kind: 'switch';
  access: 'RO' | 'RW';
  start: 0 | 1;
}

export interface EnumerationFeature {
  kind: 'enumeration';
  access: 'RO' | 'RW';
  entries: Readonly<Record<string, number>>;
  start: string;
}

export interface CommandFeature {
  kind: 'command';
}

export interface StringFeature {
  kind: 'string';
  text: string;
}

/** A feature that stands in a register of the standard (below 0xA000). */
export interface StandardRegister {
  kind: 'standard';
  access: 'RO' | 'RW';
  address: number;
  byteCount: 4 | 8;
  /** First and last bit, counted from the most significant. */
  bits?: readonly [number, number];
  unit?: string;
  /** Writing this value is the command. */
  commandValue?: number;
}

/** Bytes that a feature takes in the camera's own registers. */
export function registerBytes(feature: Feature): number {
  switch (feature.kind) {
    case 'float':
      return 8;
    case 'string':
      return 64;
    case 'standard':
      return 0;
    default:
      return 4;
  }
}

/** The value of an enumeration feature's entry by its name. */
export function entryName(feature: EnumerationFeature, value: number): string | undefined {
  return Object.entries(feature.entries).find(([, code]) => code === value)?.[0];
}
