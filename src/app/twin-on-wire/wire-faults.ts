import { FocuswrightError } from '../../base/index.js';
import { noWireFaults, type WireFaults } from '../../drivers/index.js';
import { type Fault, type FaultKind, usualFaults } from '../../twin/index.js';

/** Faults of a served station: those of the station itself and those of the wire. */
export interface ServedFaults {
  station: readonly Fault[];
  wire: WireFaults;
  /** Lost packets cannot be asked for again. */
  noResend: boolean;
  killedAfterCount: number | null;
}

/** What the number of a fault may be. */
const kinds = {
  share: { allowed: '0 … 1', fits: (value: number) => value >= 0 && value <= 1 },
  ratio: { allowed: '> 0', fits: (value: number) => value > 0 && Number.isFinite(value) },
  count: { allowed: 'a whole number ≥ 0', fits: (value: number) => Number.isInteger(value) && value >= 0 },
  ms: { allowed: '≥ 0 ms', fits: (value: number) => value >= 0 && Number.isFinite(value) },
  none: { allowed: 'no number', fits: () => false },
} as const;

interface NamedFault {
  /** What its number means. */
  means: string;
  kind: keyof typeof kinds;
  /** null: it has no number. */
  usualValue: number | null;
  put(into: ServedFaults & { station: Fault[] }, value: number): void;
}

const ofStation = <K extends FaultKind>(
  kind: K,
  field: Exclude<keyof Extract<Fault, { kind: K }>, 'kind'>,
  values: NamedFault['kind'],
  means: string,
): NamedFault => ({
  means,
  kind: values,
  usualValue: usualFaults[kind][field] as number,
  put: ({ station }, value) => station.push({ ...usualFaults[kind], [field]: value }),
});

const ofWire = (field: keyof WireFaults, usualValue: number, means: string): NamedFault => ({
  means,
  kind: 'share',
  usualValue,
  put: ({ wire }, value) => {
    wire[field] = value;
  },
});

/** Names of the faults that a served station can have, each with what its number means, its kind and its usual value. */
export const servedFaultNames: Readonly<Record<string, NamedFault>> = {
  'lost-frame': ofStation('lost-frame', 'probability', 'share', 'share of frames that never come'),
  'late-frame': ofStation('late-frame', 'probability', 'share', 'share of frames that come 120 ms late'),
  'slow-settling': ofStation('slow-settling', 'ratio', 'ratio', 'how many times slower the lens is'),
  'stuck-lens': ofStation('stuck-lens', 'commandCount', 'count', 'commands after which the lens stays, and says so'),
  'lost-link': ofStation('lost-link', 'frameCount', 'count', 'frames after which nothing answers'),
  'saturated-light': ofStation('saturated-light', 'ratio', 'ratio', 'how many times brighter the light is'),
  'hot-lens': ofStation('hot-lens', 'afterMs', 'ms', 'ms after which the lens is 60 °C warmer'),
  'packet-loss': ofWire('packetLossRatio', 0.02, 'share of packets lost'),
  'no-resend': {
    means: 'lost packets are not sent again',
    kind: 'none',
    usualValue: null,
    put: (into) => {
      into.noResend = true;
    },
  },
  'packets-stalled': ofWire('packetsStalledRatio', 0.01, 'share of packets that come 150 ms late with all after them'),
  'packets-out-of-order': ofWire('packetsSwappedRatio', 0.05, 'share of packets that come late in their frame'),
  'frames-out-of-order': ofWire('framesSwappedRatio', 0.1, 'share of frames that come after the next'),
  killed: {
    means: 'frames after which the process is gone',
    kind: 'count',
    usualValue: 10,
    put: (into, value) => {
      into.killedAfterCount = value;
    },
  },
};

/**
 * Reads faults as `NAME` (its usual case) or `NAME=NUMBER`.
 *
 * Throws   FocuswrightError `fault-unknown` with the names there are, or the numbers that are allowed.
 */
export function readServedFaults(texts: readonly string[]): ServedFaults {
  const read = { station: [], wire: { ...noWireFaults }, noResend: false, killedAfterCount: null };
  for (const text of texts) {
    const { fault, value } = readFault(text);
    fault.put(read, value);
  }
  return read;
}

function readFault(text: string): { fault: NamedFault; value: number } {
  const [name, number] = text.split(/=(.*)/s, 2) as [string, string | undefined];
  const fault = Object.hasOwn(servedFaultNames, name) ? servedFaultNames[name] : undefined;
  if (!fault) throw new FocuswrightError('fault-unknown', { fault: text, names: Object.keys(servedFaultNames) });
  if (number === undefined) return { fault, value: fault.usualValue ?? 0 };
  const value = number.trim() === '' ? Number.NaN : Number(number);
  const { fits, allowed } = kinds[fault.kind];
  if (!fits(value)) throw new FocuswrightError('fault-unknown', { fault: text, allowed });
  return { fault, value };
}
