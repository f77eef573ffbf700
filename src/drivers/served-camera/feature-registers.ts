import { entryName, type Feature, registerBytes } from './features.js';
import { type GvcpStatus, gvcpStatus } from './gvcp.js';

/** What a client writes: a number, or the name of an enumeration's entry. */
export type FeatureValue = number | string;

/** Thrown by whoever is told of a write, to refuse it. */
export class WriteRefused extends Error {
  constructor(readonly status: GvcpStatus) {
    super(`refused with ${status.toString(16)}`);
  }
}

/** The camera's own registers: one for each feature, with its checks. */
export interface FeatureRegisters {
  addressOf(name: string): number;
  value(name: string): FeatureValue;
  number(name: string): number;
  /** From the camera's side: no checks, nobody is told. */
  set(name: string, value: FeatureValue): void;
  read(address: number, byteCount: number): Buffer | null;
  write(address: number, data: Buffer): GvcpStatus;
  /** Writes of numbers outside their range, or that are no numbers. */
  outOfRangeCount(): number;
}

/** What becomes of a number outside its range: an error to the client, or the nearest value. Not a number: always an error. */
export type OutOfRange = 'refuse' | 'clamp';

/**
 * Input    `onWrite` is told of each write that passed the checks, before it is stored; what it returns is stored, and it
 *          may throw WriteRefused. `onRead` may set the value first.
 */
export function featureRegisters({
  features,
  firstAddress,
  outOfRange,
  onWrite,
  onRead = () => {},
}: {
  features: readonly Feature[];
  firstAddress: number;
  outOfRange: OutOfRange;
  onWrite: (name: string, value: FeatureValue) => FeatureValue;
  onRead?: (name: string) => void;
}): FeatureRegisters {
  const places = new Map<string, { feature: Feature; address: number }>();
  let endAddress = firstAddress;
  for (const feature of features) {
    if (feature.kind === 'standard') continue;
    places.set(feature.name, { feature, address: endAddress });
    endAddress += registerBytes(feature);
  }
  const memory = Buffer.alloc(endAddress - firstAddress);
  const owners = new Map([...places.values()].map((place) => [place.address, place]));
  let outOfRangeCount = 0;

  const place = (name: string) => {
    const found = places.get(name);
    if (!found) throw new RangeError(`no feature "${name}"`);
    return found;
  };

  function stored({ feature, address }: { feature: Feature; address: number }): FeatureValue {
    const at = address - firstAddress;
    if (feature.kind === 'float') return memory.readDoubleBE(at);
    if (feature.kind === 'string') return memory.toString('utf8', at, at + registerBytes(feature)).replace(/\0+$/, '');
    const value = memory.readUInt32BE(at);
    return feature.kind === 'enumeration' ? (entryName(feature, value) ?? value) : value;
  }

  function store({ feature, address }: { feature: Feature; address: number }, value: FeatureValue): void {
    const at = address - firstAddress;
    if (feature.kind === 'float') memory.writeDoubleBE(value as number, at);
    else if (feature.kind === 'string') memory.fill(0, at, at + 64).write(String(value), at, 63, 'utf8');
    else if (feature.kind === 'enumeration') memory.writeUInt32BE(feature.entries[value]!, at);
    else memory.writeUInt32BE(value as number, at);
  }

  for (const { feature, address } of places.values()) {
    if (feature.kind === 'string') store({ feature, address }, feature.text);
    else if (feature.kind !== 'command' && feature.kind !== 'standard') store({ feature, address }, feature.start);
  }
  const numberOf = (name: string): number => {
    const { feature, address } = place(name);
    return feature.kind === 'float'
      ? memory.readDoubleBE(address - firstAddress)
      : memory.readUInt32BE(address - firstAddress);
  };

  /** The value to be stored, or null where the client gets an error. */
  function checked(feature: Feature & { kind: 'integer' | 'float' }, wanted: number): number | null {
    const max = feature.maxLess
      ? Math.min(feature.max, numberOf(feature.maxLess[0]) - numberOf(feature.maxLess[1]))
      : feature.max;
    if (wanted >= feature.min && wanted <= max) {
      const { kind, increment = 0 } = feature;
      return kind === 'integer' && increment > 0 && (wanted - feature.min) % increment !== 0 ? null : wanted;
    }
    outOfRangeCount++;
    if (Number.isNaN(wanted) || outOfRange === 'refuse') return null;
    return Math.min(max, Math.max(feature.min, wanted));
  }

  function decoded(feature: Feature, data: Buffer): FeatureValue | null {
    switch (feature.kind) {
      case 'integer':
        return checked(feature as Feature & { kind: 'integer' }, data.readUInt32BE(0));
      case 'float':
        return checked(feature as Feature & { kind: 'float' }, data.readDoubleBE(0));
      case 'enumeration':
        return entryName(feature, data.readUInt32BE(0)) ?? null;
      case 'switch':
        return data.readUInt32BE(0) === 0 ? 0 : 1;
      default:
        return data.readUInt32BE(0);
    }
  }

  return {
    addressOf: (name) => place(name).address,
    value: (name) => stored(place(name)),
    number: numberOf,
    set: (name, value) => store(place(name), value),
    read(address, byteCount) {
      if (address < firstAddress || address + byteCount > endAddress) return null;
      for (const { feature, address: own } of places.values()) {
        if (own < address + byteCount && own + registerBytes(feature) > address) onRead(feature.name);
      }
      return Buffer.from(memory.subarray(address - firstAddress, address - firstAddress + byteCount));
    },
    write(address, data) {
      const owner = owners.get(address);
      if (!owner)
        return address >= firstAddress && address < endAddress ? gvcpStatus.badAlignment : gvcpStatus.invalidAddress;
      const { feature } = owner;
      if (feature.kind === 'string' || ('access' in feature && feature.access === 'RO'))
        return gvcpStatus.writeProtected;
      if (data.length !== registerBytes(feature)) return gvcpStatus.badAlignment;
      const value = decoded(feature, data);
      if (value === null) return gvcpStatus.invalidParameter;
      if (feature.lockedBy && numberOf(feature.lockedBy) !== 0) return gvcpStatus.accessDenied;
      try {
        const kept = onWrite(feature.name, value);
        if (feature.kind !== 'command') store(owner, kept);
        return gvcpStatus.success;
      } catch (error) {
        if (error instanceof WriteRefused) return error.status;
        throw error;
      }
    },
    outOfRangeCount: () => outOfRangeCount,
  };
}
