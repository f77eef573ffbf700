import { readFile, statfs } from 'node:fs/promises';
import { networkInterfaces } from 'node:os';
import { FocuswrightError, type Verdict } from '../base/index.js';
import { aravisVersion } from '../drivers/index.js';

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

/**
 * Looks whether this machine is ready for a GenICam camera: library, network buffers, permissions, packet size, clock, disk.
 *
 * Returns  one row for each, with its remedy; never throws. What cannot be read on a platform is `unknown`.
 */
export async function checkMachine({ folder }: { folder: string }): Promise<MachineCheck[]> {
  return [await library(), await networkBuffer(), permissions(), await packetSize(), await clock(), await disk(folder)];
}

async function library(): Promise<MachineCheck> {
  try {
    const { version, loadedFrom } = await aravisVersion();
    return { name: 'library', verdict: 'meets', found: `Aravis ${version} from ${loadedFrom}`, remedy: '' };
  } catch (error) {
    if (!(error instanceof FocuswrightError)) throw error;
    return { name: 'library', verdict: 'fails', found: error.message, remedy: error.remedy };
  }
}

async function networkBuffer(): Promise<MachineCheck> {
  const name = 'network buffer';
  const text = await readFile('/proc/sys/net/core/rmem_max', 'utf8').catch(() => null);
  if (text === null) {
    return {
      name,
      verdict: 'unknown',
      found: 'not told by this system',
      remedy: 'Watch for lost frames in the live view.',
    };
  }
  const bytes = Number(text);
  const found = `net.core.rmem_max = ${bytes} bytes; two frames of 2448 × 2048 px need ${socketNeededBytes}`;
  if (bytes >= socketNeededBytes) return { name, verdict: 'meets', found, remedy: '' };
  return {
    name,
    verdict: bytes >= socketNeededBytes / 4 ? 'marginal' : 'fails',
    found,
    remedy: 'sudo sysctl -w net.core.rmem_max=33554432 (and in /etc/sysctl.d to keep it); without it frames are lost.',
  };
}

function permissions(): MachineCheck {
  const name = 'permissions';
  if (process.platform !== 'linux') {
    return {
      name,
      verdict: 'unknown',
      found: `not looked at on ${process.platform}`,
      remedy: 'Let the firewall pass UDP 3956 and the stream port of the camera.',
    };
  }
  const isRoot = process.getuid?.() === 0;
  return {
    name,
    verdict: 'meets',
    found: isRoot ? 'running as root' : 'GigE Vision needs none; a USB3 camera needs a udev rule',
    remedy: isRoot
      ? 'Run as an ordinary user: nothing here needs root.'
      : 'For USB3 Vision add a udev rule for the vendor of the camera; see docs/devices/real-camera.md.',
  };
}

async function packetSize(): Promise<MachineCheck> {
  const name = 'packet size';
  const cards = Object.entries(networkInterfaces()).filter(([, all]) => all?.some((one) => !one.internal));
  const sizes = await Promise.all(
    cards.map(async ([card]) => ({
      card,
      bytes: Number(await readFile(`/sys/class/net/${card}/mtu`, 'utf8').catch(() => Number.NaN)),
    })),
  );
  const known = sizes.filter(({ bytes }) => Number.isFinite(bytes));
  if (known.length === 0) {
    return { name, verdict: 'unknown', found: 'no network card with a known packet size', remedy: '' };
  }
  const found = known.map(({ card, bytes }) => `${card}: MTU ${bytes}`).join(', ');
  const isJumbo = known.some(({ bytes }) => bytes >= jumboBytes);
  return {
    name,
    verdict: isJumbo ? 'meets' : 'marginal',
    found,
    remedy: isJumbo
      ? ''
      : 'On the card of the camera: sudo ip link set dev CARD mtu 9000, where card, switch and camera allow it; small packets cost frame rate.',
  };
}

async function clock(): Promise<MachineCheck> {
  const name = 'clock';
  const beforeMs = performance.now();
  const turns = 20;
  let worstMs = 0;
  for (let i = 0; i < turns; i++) {
    const startMs = performance.now();
    await new Promise((resolve) => setTimeout(resolve, 2));
    worstMs = Math.max(worstMs, performance.now() - startMs - 2);
  }
  const meanMs = (performance.now() - beforeMs) / turns;
  const found = `a wait of 2 ms takes ${meanMs.toFixed(1)} ms, at worst ${(worstMs + 2).toFixed(1)} ms`;
  const isFine = meanMs < 5;
  return {
    name,
    verdict: isFine ? 'meets' : 'marginal',
    found,
    remedy: isFine ? '' : 'Close what loads the processor, and switch power saving off: frames are noticed late.',
  };
}

async function disk(folder: string): Promise<MachineCheck> {
  const name = 'disk';
  const space = await statfs(folder).catch(() => null);
  if (!space) return { name, verdict: 'unknown', found: `${folder} cannot be read`, remedy: 'Choose another folder.' };
  const freeBytes = space.bavail * space.bsize;
  const isEnough = freeBytes >= diskNeededBytes;
  return {
    name,
    verdict: isEnough ? 'meets' : 'marginal',
    found: `${(freeBytes / 1e9).toFixed(1)} GB free in ${folder}; a commissioning at 5 megapixels keeps about 1 GB of frames`,
    remedy: isEnough ? '' : 'Free some space, or choose another folder with --out.',
  };
}
