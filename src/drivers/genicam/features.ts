import { FocuswrightError } from '../../base/index.js';
import type { Pointer } from '../aravis/index.js';
import type { AravisCalls } from './calls.js';
import type { DeviceLink } from './device-link.js';

/** What a feature is, by its GenApi interface. */
export type FeatureKind = 'float' | 'integer' | 'enumeration' | 'boolean' | 'string' | 'command' | 'category' | 'other';

/** A feature as the camera describes it now. */
export interface Feature {
  name: string;
  kind: FeatureKind;
  access: 'read' | 'write' | 'read-write' | 'none';
  /** Numbers only; null: not told. */
  min: number | null;
  max: number | null;
  /** Smallest step of a number; null: any, or not told. */
  increment: number | null;
  unit: string | null;
  /** Enumerations only. */
  entries: readonly string[];
  /** Its value as text; null where it has none or cannot be read. */
  valueText: string | null;
  description: string | null;
}

/** The features of one camera, each call in its turn. */
export interface Features {
  /** true: described, implemented and available as the camera is set now. */
  has(name: string): Promise<boolean>;
  /** null: not described. */
  describe(name: string): Promise<Feature | null>;
  /** Names in a category; empty where there is none. */
  members(category: string): Promise<string[]>;
  readNumber(name: string): Promise<number>;
  writeNumber(name: string, value: number): Promise<void>;
  readText(name: string): Promise<string>;
  writeText(name: string, text: string): Promise<void>;
  writeSwitch(name: string, isOn: boolean): Promise<void>;
  execute(name: string): Promise<void>;
  /** Writes at once on this thread: for the end of the process alone. */
  writeNumberNow(name: string, value: number): void;
}

const kinds: Record<string, FeatureKind> = {
  Float: 'float',
  FloatReg: 'float',
  Converter: 'float',
  SwissKnife: 'float',
  Integer: 'integer',
  IntReg: 'integer',
  MaskedIntReg: 'integer',
  IntConverter: 'integer',
  IntSwissKnife: 'integer',
  Enumeration: 'enumeration',
  Boolean: 'boolean',
  String: 'string',
  StringReg: 'string',
  Command: 'command',
  Category: 'category',
};
const accesses = ['read', 'write', 'read-write'] as const;
/** Bounds beyond this stand for "not told": a bare float register reports ±FLT_MAX. */
const toldBelow = 1e30;

/** The features of the camera behind `device`. Values are the caller's to validate: the library cuts fractions and takes NaN. */
export function featuresOf(calls: AravisCalls, device: Pointer, link: DeviceLink): Features {
  const { feature, node } = calls;
  const list = calls.koffi.struct({ data: 'void *', next: 'void *' });
  const nodeOf = (name: string) => feature.node(device, name);
  const kindOf = (name: string): FeatureKind | null => {
    const found = nodeOf(name);
    return found === null ? null : (kinds[node.kind(found) ?? ''] ?? 'other');
  };
  const requireKind = (name: string, allowed: readonly FeatureKind[]): FeatureKind => {
    const kind = kindOf(name);
    if (kind !== null && allowed.includes(kind)) return kind;
    throw new FocuswrightError('feature-missing', {
      camera: link.name,
      feature: name,
      found: kind ?? 'none',
      needed: allowed.join(' or '),
    });
  };
  const orNull = <T>(reading: Promise<T>): Promise<T | null> => reading.catch(() => null);
  const told = (bound: number | bigint | null) =>
    bound !== null && Math.abs(Number(bound)) < toldBelow ? Number(bound) : null;

  async function entriesOf(found: Pointer): Promise<string[]> {
    const count = [0];
    const names = await orNull(node.entries.later(found, count));
    if (names === null) return [];
    const texts = calls.koffi.decode(names, calls.koffi.array('str', count[0]!)) as string[];
    calls.free(names);
    return texts;
  }

  return {
    has: (name) =>
      link.run(name, async () => {
        if (nodeOf(name) === null) return false;
        return (await orNull(feature.available.later(device, name))) === 1;
      }),
    describe: (name) =>
      link.run(name, async () => {
        const found = nodeOf(name);
        const kind = kindOf(name);
        if (found === null || kind === null) return null;
        const isAvailable = (await orNull(feature.available.later(device, name))) === 1;
        const access = isAvailable ? (accesses[node.access(found)] ?? 'none') : 'none';
        const isNumber = kind === 'float' || kind === 'integer';
        const isFloat = kind === 'float';
        const bound = async (of: 'Min' | 'Max' | 'Step') =>
          isNumber && isAvailable
            ? told(await orNull(node[`${isFloat ? 'float' : 'integer'}${of}`].later(found)))
            : null;
        const increment = await bound('Step');
        const isReadable = access === 'read' || access === 'read-write';
        return {
          name,
          kind,
          access,
          min: await bound('Min'),
          max: await bound('Max'),
          increment: increment !== null && increment > 1e-30 ? increment : null,
          unit: isNumber ? (isFloat ? node.floatUnit(found) : node.integerUnit(found)) : null,
          entries: kind === 'enumeration' ? await entriesOf(found) : [],
          valueText: isReadable && kind !== 'category' ? await orNull(node.text.later(found)) : null,
          description: node.description(found),
        };
      }),
    members: (category) =>
      link.run(category, async () => {
        const found = kindOf(category) === 'category' ? nodeOf(category) : null;
        const names: string[] = [];
        for (let at = found && node.members(found); at; ) {
          const { data, next } = calls.koffi.decode(at, list);
          names.push(calls.koffi.decode.string(data));
          at = next;
        }
        return names;
      }),
    readNumber: (name) =>
      link.run(name, async () =>
        requireKind(name, ['float', 'integer']) === 'float'
          ? feature.getFloat.later(device, name)
          : Number(await feature.getInteger.later(device, name)),
      ),
    writeNumber: (name, value) =>
      link.run(name, async () => {
        requireFinite(name, value);
        if (requireKind(name, ['float', 'integer']) === 'float') await feature.setFloat.later(device, name, value);
        else await feature.setInteger.later(device, name, Math.round(value));
      }),
    readText: (name) =>
      link.run(name, async () => {
        requireKind(name, ['string', 'enumeration', 'float', 'integer', 'boolean']);
        return (await node.text.later(nodeOf(name))) ?? '';
      }),
    writeText: (name, text) =>
      link.run(name, async () => {
        requireKind(name, ['string', 'enumeration']);
        await feature.setString.later(device, name, text);
      }),
    writeSwitch: (name, isOn) =>
      link.run(name, async () => {
        requireKind(name, ['boolean']);
        await feature.setBoolean.later(device, name, isOn ? 1 : 0);
      }),
    execute: (name) =>
      link.run(name, async () => {
        requireKind(name, ['command']);
        await feature.execute.later(device, name);
      }),
    writeNumberNow(name, value) {
      requireFinite(name, value);
      if (requireKind(name, ['float', 'integer']) === 'float') feature.setFloat(device, name, value);
      else feature.setInteger(device, name, Math.round(value));
    },
  };
}

function requireFinite(feature: string, value: number): void {
  if (!Number.isFinite(value)) throw new RangeError(`${feature} is ${value}; allowed: a finite number`);
}
