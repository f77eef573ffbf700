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

/** Names of the faults that a served station can have, each with what its number means and its usual value. */
export const servedFaultNames = {
  'lost-frame': { means: 'share of frames that never come', usual: usualFaults['lost-frame'].probability },
  'late-frame': { means: 'share of frames that come 120 ms late', usual: usualFaults['late-frame'].probability },
  'slow-settling': { means: 'how many times slower the lens is', usual: usualFaults['slow-settling'].ratio },
  'stuck-lens': {
    means: 'commands after which the lens stays, and says so',
    usual: usualFaults['stuck-lens'].commandCount,
  },
  'lost-link': { means: 'frames after which nothing answers', usual: usualFaults['lost-link'].frameCount },
  'saturated-light': { means: 'how many times brighter the light is', usual: usualFaults['saturated-light'].ratio },
  'hot-lens': { means: 'ms after which the lens is 60 °C warmer', usual: usualFaults['hot-lens'].afterMs },
  'packet-loss': { means: 'share of packets lost', usual: 0.02 },
  'no-resend': { means: 'lost packets are not sent again', usual: 1 },
  'packets-out-of-order': { means: 'share of packets that come late in their frame', usual: 0.05 },
  'frames-out-of-order': { means: 'share of frames that come after the next', usual: 0.1 },
  killed: { means: 'frames after which the process is gone', usual: 10 },
} as const;

type FaultName = keyof typeof servedFaultNames;

/**
 * Reads faults as `NAME` (its usual case) or `NAME=NUMBER`.
 *
 * Throws   FocuswrightError `fault-unknown` with the names there are.
 */
export function readServedFaults(texts: readonly string[]): ServedFaults {
  const station: Fault[] = [];
  const wire = { ...noWireFaults };
  let noResend = false;
  let killedAfterCount: number | null = null;
  for (const text of texts) {
    const [name, number] = text.split('=', 2) as [FaultName, string | undefined];
    const known = Object.hasOwn(servedFaultNames, name) ? servedFaultNames[name] : null;
    const value = number === undefined || number === '' ? known?.usual : Number(number);
    if (!known || value === undefined || !(value >= 0)) {
      throw new FocuswrightError('fault-unknown', { fault: text, allowed: Object.keys(servedFaultNames) });
    }
    if (name === 'packet-loss') wire.packetLossRatio = value;
    else if (name === 'packets-out-of-order') wire.packetsSwappedRatio = value;
    else if (name === 'frames-out-of-order') wire.framesSwappedRatio = value;
    else if (name === 'no-resend') noResend = true;
    else if (name === 'killed') killedAfterCount = value;
    else station.push(stationFault(name, value));
  }
  return { station, wire, noResend, killedAfterCount };
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
