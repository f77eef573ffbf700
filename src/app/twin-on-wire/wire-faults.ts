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

/** Names of the faults that a served station can have, each with what its number means, its kind and its usual value. */
export const servedFaultNames = {
  'lost-frame': {
    means: 'share of frames that never come',
    kind: 'share',
    usualValue: usualFaults['lost-frame'].probability,
  },
  'late-frame': {
    means: 'share of frames that come 120 ms late',
    kind: 'share',
    usualValue: usualFaults['late-frame'].probability,
  },
  'slow-settling': {
    means: 'how many times slower the lens is',
    kind: 'ratio',
    usualValue: usualFaults['slow-settling'].ratio,
  },
  'stuck-lens': {
    means: 'commands after which the lens stays, and says so',
    kind: 'count',
    usualValue: usualFaults['stuck-lens'].commandCount,
  },
  'lost-link': {
    means: 'frames after which nothing answers',
    kind: 'count',
    usualValue: usualFaults['lost-link'].frameCount,
  },
  'saturated-light': {
    means: 'how many times brighter the light is',
    kind: 'ratio',
    usualValue: usualFaults['saturated-light'].ratio,
  },
  'hot-lens': {
    means: 'ms after which the lens is 60 °C warmer',
    kind: 'ms',
    usualValue: usualFaults['hot-lens'].afterMs,
  },
  'packet-loss': { means: 'share of packets lost', kind: 'share', usualValue: 0.02 },
  'no-resend': { means: 'lost packets are not sent again', kind: 'none', usualValue: null },
  'packets-stalled': {
    means: 'share of packets that come 150 ms late with all after them',
    kind: 'share',
    usualValue: 0.01,
  },
  'packets-out-of-order': { means: 'share of packets that come late in their frame', kind: 'share', usualValue: 0.05 },
  'frames-out-of-order': { means: 'share of frames that come after the next', kind: 'share', usualValue: 0.1 },
  killed: { means: 'frames after which the process is gone', kind: 'count', usualValue: 10 },
} as const satisfies Record<string, { means: string; kind: keyof typeof kinds; usualValue: number | null }>;

type FaultName = keyof typeof servedFaultNames;

/**
 * Reads faults as `NAME` (its usual case) or `NAME=NUMBER`.
 *
 * Throws   FocuswrightError `fault-unknown` with the names there are, or the numbers that are allowed.
 */
export function readServedFaults(texts: readonly string[]): ServedFaults {
  const station: Fault[] = [];
  const wire = { ...noWireFaults };
  let noResend = false;
  let killedAfterCount: number | null = null;
  for (const text of texts) {
    const { name, value } = readFault(text);
    if (name === 'packet-loss') wire.packetLossRatio = value;
    else if (name === 'packets-stalled') wire.packetsStalledRatio = value;
    else if (name === 'packets-out-of-order') wire.packetsSwappedRatio = value;
    else if (name === 'frames-out-of-order') wire.framesSwappedRatio = value;
    else if (name === 'no-resend') noResend = true;
    else if (name === 'killed') killedAfterCount = value;
    else station.push(stationFault(name, value));
  }
  return { station, wire, noResend, killedAfterCount };
}

function readFault(text: string): { name: FaultName; value: number } {
  const [name, number] = text.split(/=(.*)/s, 2) as [FaultName, string | undefined];
  if (!Object.hasOwn(servedFaultNames, name)) {
    throw new FocuswrightError('fault-unknown', { fault: text, names: Object.keys(servedFaultNames) });
  }
  const { kind, usualValue } = servedFaultNames[name];
  if (number === undefined) return { name, value: usualValue ?? 0 };
  const value = number.trim() === '' ? Number.NaN : Number(number);
  if (!kinds[kind].fits(value)) {
    throw new FocuswrightError('fault-unknown', { fault: text, allowed: kinds[kind].allowed });
  }
  return { name, value };
}

function stationFault(kind: FaultKind, value: number): Fault {
  switch (kind) {
    case 'lost-frame':
      return { ...usualFaults[kind], probability: value };
    case 'late-frame':
      return { ...usualFaults[kind], probability: value };
    case 'slow-settling':
    case 'saturated-light':
      return { ...usualFaults[kind], ratio: value };
    case 'stuck-lens':
      return { ...usualFaults[kind], commandCount: value };
    case 'lost-link':
      return { ...usualFaults[kind], frameCount: value };
    case 'hot-lens':
      return { ...usualFaults[kind], afterMs: value };
  }
}
