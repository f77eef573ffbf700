import { readFile, statfs } from 'node:fs/promises';
import { networkInterfaces } from 'node:os';
import { FocuswrightError } from '../base/index.js';
import { aravisVersion } from '../drivers/index.js';

/** What is read off a machine before a real camera is connected; null: not told by this system. */
export interface MachineReadings {
  platform: string;
  library: { version: string; loadedFrom: string } | { missing: string; remedy: string };
  /** The most that a socket may be given to hold what has come. */
  receiveBufferMaxBytes: number | null;
  isRoot: boolean | null;
  /** Network cards beside the loopback, with the largest packet of each. */
  cards: readonly { card: string; mtuBytes: number | null }[];
  /** What a wait of 2 ms really takes. */
  waitsMs: readonly number[];
  folder: string;
  freeBytes: number | null;
}

const waitCount = 20;
export const askedWaitMs = 2;

/** Reads them. Never throws. */
export async function readMachine({ folder }: { folder: string }): Promise<MachineReadings> {
  return {
    platform: process.platform,
    library: await library(),
    receiveBufferMaxBytes: await number('/proc/sys/net/core/rmem_max'),
    isRoot: process.getuid ? process.getuid() === 0 : null,
    cards: await cards(),
    waitsMs: await waits(),
    folder,
    freeBytes: await statfs(folder).then(
      ({ bavail, bsize }) => bavail * bsize,
      () => null,
    ),
  };
}

async function library(): Promise<MachineReadings['library']> {
  try {
    return await aravisVersion();
  } catch (error) {
    if (!(error instanceof FocuswrightError)) throw error;
    return { missing: error.message, remedy: error.remedy };
  }
}

async function cards(): Promise<MachineReadings['cards']> {
  const names = Object.entries(networkInterfaces()).filter(([, all]) => all?.some((one) => !one.internal));
  return Promise.all(
    names.map(async ([card]) => ({ card, mtuBytes: await number(`/sys/class/net/${encodeURIComponent(card)}/mtu`) })),
  );
}

async function number(file: string): Promise<number | null> {
  const value = Number(await readFile(file, 'utf8').catch(() => Number.NaN));
  return Number.isFinite(value) ? value : null;
}

async function waits(): Promise<number[]> {
  const taken: number[] = [];
  for (let i = 0; i < waitCount; i++) {
    const startMs = performance.now();
    await new Promise((resolve) => setTimeout(resolve, askedWaitMs));
    taken.push(performance.now() - startMs);
  }
  return taken;
}
