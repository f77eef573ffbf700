import type { Verdict } from '../base/index.js';
import { askedWaitMs, type MachineReadings, readMachine } from './machine-readings.js';

/** One thing that was looked at before a real camera is connected. */
export interface MachineCheck {
  name: string;
  verdict: Verdict;
  found: string;
  /** Empty where nothing is to be done. */
  remedy: string;
}

/** Two frames of 2448 × 2048 at 8 bit: what a socket should hold so that a burst is not lost. */
const socketNeededBytes = 2 * 2448 * 2048;
const jumboBytes = 9000;
const diskNeededBytes = 2e9;
/** A wait that takes longer is noticed in every frame. */
const longestMeanWaitMs = 5;

/** Looks whether this machine is ready for a GenICam camera. */
export const checkMachine = async ({ folder }: { folder: string }): Promise<MachineCheck[]> =>
  judgeMachine(await readMachine({ folder }));

/**
 * Judges what was read: library, network buffer, permissions, packet size, clock, disk.
 *
 * Returns  one row for each, with its remedy where it does not simply meet the need. What a system does not tell is `unknown`.
 */
export function judgeMachine(readings: MachineReadings): MachineCheck[] {
  return [
    library(readings),
    networkBuffer(readings),
    permissions(readings),
    packetSize(readings),
    clock(readings),
    disk(readings),
  ];
}

function library({ library: read }: MachineReadings): MachineCheck {
  const name = 'library';
  if ('missing' in read) return { name, verdict: 'fails', found: read.missing, remedy: read.remedy };
  return { name, verdict: 'meets', found: `Aravis ${read.version} from ${read.loadedFrom}`, remedy: '' };
}

function networkBuffer({ receiveBufferMaxBytes: bytes }: MachineReadings): MachineCheck {
  const name = 'network buffer';
  if (bytes === null) {
    return {
      name,
      verdict: 'unknown',
      found: 'not told by this system',
      remedy: 'Watch for lost frames in the live view.',
    };
  }
  const found = `net.core.rmem_max = ${bytes} bytes; two frames of 2448 × 2048 px need ${socketNeededBytes}`;
  if (bytes >= socketNeededBytes) return { name, verdict: 'meets', found, remedy: '' };
  return {
    name,
    verdict: bytes >= socketNeededBytes / 4 ? 'marginal' : 'fails',
    found,
    remedy: 'sudo sysctl -w net.core.rmem_max=33554432 (and in /etc/sysctl.d to keep it); without it frames are lost.',
  };
}

function permissions({ platform, isRoot }: MachineReadings): MachineCheck {
  const name = 'permissions';
  if (platform !== 'linux') {
    return {
      name,
      verdict: 'unknown',
      found: `not looked at on ${platform}`,
      remedy: 'Let the firewall pass UDP 3956 and the stream port of the camera.',
    };
  }
  return {
    name,
    verdict: 'meets',
    found: isRoot ? 'running as root' : 'GigE Vision needs none; a USB3 camera needs a udev rule',
    remedy: isRoot
      ? 'Run as an ordinary user: nothing here needs root.'
      : 'For USB3 Vision add a udev rule for the vendor of the camera; see docs/devices/real-camera.md.',
  };
}

function packetSize({ cards }: MachineReadings): MachineCheck {
  const name = 'packet size';
  const known = cards.flatMap(({ card, mtuBytes }) => (mtuBytes === null ? [] : [{ card, mtuBytes }]));
  if (known.length === 0) {
    return {
      name,
      verdict: 'unknown',
      found: cards.length === 0 ? 'no network card' : 'no network card with a known packet size',
      remedy: 'For a GigE camera switch jumbo frames (9000 bytes) on in the settings of its network card.',
    };
  }
  const isJumbo = known.some(({ mtuBytes }) => mtuBytes >= jumboBytes);
  return {
    name,
    verdict: isJumbo ? 'meets' : 'marginal',
    found: known.map(({ card, mtuBytes }) => `${card}: MTU ${mtuBytes}`).join(', '),
    remedy: isJumbo
      ? ''
      : 'On the card of the camera: sudo ip link set dev CARD mtu 9000, where card, switch and camera allow it; small packets cost frame rate.',
  };
}

function clock({ waitsMs }: MachineReadings): MachineCheck {
  const meanMs = waitsMs.reduce((sum, one) => sum + one, 0) / waitsMs.length;
  const isFine = meanMs < longestMeanWaitMs;
  return {
    name: 'clock',
    verdict: isFine ? 'meets' : 'marginal',
    found: `a wait of ${askedWaitMs} ms takes ${meanMs.toFixed(1)} ms, at worst ${Math.max(...waitsMs).toFixed(1)} ms`,
    remedy: isFine ? '' : 'Close what loads the processor, and switch power saving off: frames are noticed late.',
  };
}

function disk({ folder, freeBytes }: MachineReadings): MachineCheck {
  const name = 'disk';
  if (freeBytes === null) {
    return { name, verdict: 'unknown', found: `${folder} cannot be read`, remedy: 'Choose another folder.' };
  }
  const isEnough = freeBytes >= diskNeededBytes;
  return {
    name,
    verdict: isEnough ? 'meets' : 'marginal',
    found: `${(freeBytes / 1e9).toFixed(1)} GB free in ${folder}; a commissioning at 5 megapixels keeps about 1 GB of frames`,
    remedy: isEnough ? '' : 'Free some space, or choose another folder with --out.',
  };
}
