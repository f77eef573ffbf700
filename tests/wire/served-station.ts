import { type ChildProcess, spawn } from 'node:child_process';
import { randomInt } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'yaml';
import { type Station, type StationInput, stationSchema, stationToYaml } from '../../src/station/index.js';

/** A simulated station served by a process of its own, for the time of a test. */
export interface ServedStation {
  address: string;
  serialNumber: string;
  /** As the serving process knows it; whoever focuses over the wire does not. */
  station: Station;
  /** The station file. */
  yaml: string;
  seed: number;
  process: ChildProcess;
  /** Ends it as a power cut would. */
  kill(): Promise<void>;
  /** Ends it politely; resolves to its exit code. */
  close(): Promise<number | null>;
}

export interface ServeOrder {
  /** A demonstration station to start from. */
  from?: 'glaze-line' | 'vial-stopper' | 'relay-pins';
  change?: (file: StationInput) => void;
  seed?: number;
  /** More options of `focuswright twin`. */
  options?: readonly string[];
  /** Default: a free address of the loopback network, drawn anew. */
  address?: string;
}

const attempts = 5;

/** An address of the loopback network that other runs on this machine are unlikely to use. */
export const loopbackAddress = (): string => `127.${randomInt(16, 250)}.${randomInt(0, 256)}.${randomInt(2, 254)}`;

/** Starts `focuswright twin` and waits until it says that it is served. */
export async function serveStation(order: ServeOrder = {}): Promise<ServedStation> {
  const { from = 'glaze-line', change = () => {}, seed = 8 } = order;
  // Of its own, so that who looks for it by its serial number does not find that of another test.
  const options = ['--serial', `test-${randomInt(36 ** 6).toString(36)}`, ...(order.options ?? [])];
  const file = parse(readFileSync(`stations/${from}.yaml`, 'utf8')) as StationInput;
  change(file);
  const folder = mkdtempSync(join(tmpdir(), 'focuswright-wire-'));
  const yaml = stationToYaml(file);
  writeFileSync(join(folder, 'station.yaml'), yaml);
  try {
    for (let attempt = 1; ; attempt++) {
      const address = order.address ?? loopbackAddress();
      const started = await start(join(folder, 'station.yaml'), address, seed, options);
      if (started.line.state === 'served') {
        const { child, line } = started;
        return {
          address,
          seed,
          station: stationSchema.parse(file),
          yaml,
          ...ended(child),
          serialNumber: line.serialNumber!,
        };
      }
      if (attempt === attempts || order.address || line(started) !== 'gige-port-in-use') {
        throw new Error(`focuswright twin did not start: ${started.stderr()}`);
      }
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

interface StatusLine {
  state?: string;
  serialNumber?: string;
  error?: { code: string };
}

const line = (started: { line: StatusLine }) => started.line.error?.code;

async function start(path: string, address: string, seed: number, options: readonly string[]) {
  const child = spawn(
    process.execPath,
    [
      'dist/cli/main.js',
      'twin',
      path,
      '--gige',
      address,
      '--seed',
      String(seed),
      '--end-with-stdin',
      '--json',
      ...options,
    ],
    { stdio: ['pipe', 'pipe', 'pipe'] },
  );
  let stdout = '';
  let stderr = '';
  child.stderr.on('data', (chunk) => {
    stderr += chunk;
  });
  const said = await new Promise<StatusLine>((resolve) => {
    child.stdout.on('data', (chunk) => {
      stdout += chunk;
      try {
        resolve(JSON.parse(stdout));
      } catch {
        // Not whole yet.
      }
    });
    child.once('close', () => resolve({}));
  });
  return { child, line: said, stderr: () => stderr };
}

function ended(child: ChildProcess): Pick<ServedStation, 'process' | 'kill' | 'close'> {
  const code = new Promise<number | null>((resolve) => child.once('close', resolve));
  return {
    process: child,
    async kill() {
      child.kill('SIGKILL');
      await code;
    },
    async close() {
      child.kill('SIGTERM');
      return code;
    },
  };
}
