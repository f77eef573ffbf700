import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { openPlainClient, type PlainClient } from './plain-client.js';
import { type ServedStation, serveStation } from './served-station.js';

const parkPowerDpt = -0.5;

/** How the program ends that has set a power of 2 dpt. */
const ends = {
  'is killed': "process.kill(process.pid, 'SIGKILL');",
  'is killed while the camera sends frames':
    'for await (const _ of camera.stream()) if (++frames > 3) process.kill(process.pid, "SIGKILL");',
  'throws an error that nobody catches': "setTimeout(() => { throw new Error('broken'); });",
  'rejects what nobody waits for': "void Promise.reject(new Error('broken'));",
  'runs out of memory': 'const kept = []; for (;;) kept.push(new Array(1e5).fill(Math.random()));',
  'loses a worker to an error': "new Worker('throw new Error(1)', { eval: true });",
  'ends with the camera open': 'process.exit();',
} as const;

const program = (address: string, end: string) => `
  import { Worker } from 'node:worker_threads';
  import { openGenicamCamera } from './dist/drivers/index.js';
  const { camera } = await openGenicamCamera('${address}', { parkPowerDpt: ${parkPowerDpt} });
  let frames = 0;
  await camera.setFocalPower({ focalPowerDpt: 2 });
  console.log(await camera.lensStatus());
  ${end}
`;

describe('the lens is parked however the program ends', () => {
  let served: ServedStation;
  let observer: PlainClient;
  let folder: string;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'focuswright-watch-'));
    served = await serveStation({
      change: (file) => {
        Object.assign(file.parts.sensor, { widthPx: 320, heightPx: 256 });
        file.controls.parkPowerDpt = parkPowerDpt;
      },
    });
    writeFileSync(join(folder, 'station.yaml'), served.yaml);
  });
  afterAll(async () => {
    await served?.close();
    rmSync(folder, { recursive: true, force: true });
  });
  beforeEach(async () => {
    observer = await openPlainClient(served.address);
  });
  afterEach(() => observer.close());

  /** Processes that watch over the lens of this camera. */
  const watches = () =>
    spawnSync('ps', ['-eo', 'pid,stat,args'])
      .stdout.toString()
      .split('\n')
      .filter((line) => line.includes('lens-watch-process') && line.includes(served.address));

  /** The camera is asked by a client that only reads: it disturbs nobody who wants control. */
  async function parkedAndAlone(): Promise<void> {
    await expect.poll(() => observer.getFloat('FocalPower'), { timeout: 30_000 }).toBe(parkPowerDpt);
    await expect.poll(watches, { timeout: 30_000 }).toEqual([]);
    expect(await observer.readRegister(0xa00), 'nobody has control').toMatchObject({ value: 0 });
  }

  for (const [way, end] of Object.entries(ends)) {
    it(`property: one that ${way}`, { timeout: 120_000 }, async () => {
      const child = spawn(process.execPath, [
        '--max-old-space-size=64',
        '--input-type=module',
        '-e',
        program(served.address, end),
      ]);
      let said = '';
      child.stdout.on('data', (chunk) => {
        said += chunk;
      });
      await once(child, 'close');
      expect(said, 'the power that was read back before the end').toContain('focalPowerDpt: 2');
      await parkedAndAlone();
    });
  }

  it('property: one that gives up a camera which answers no more: parked when it answers again', {
    timeout: 120_000,
  }, async () => {
    const end = 'await camera.grab().catch(({ code }) => console.log(code)); await camera.close();';
    const waitForSilence = "await new Promise((next) => process.stdin.once('data', next)); process.stdin.destroy();";
    const child = spawn(process.execPath, [
      '--input-type=module',
      '-e',
      program(served.address, `${waitForSilence} ${end}`),
    ]);
    let said = '';
    child.stdout.on('data', (chunk) => {
      said += chunk;
    });
    await expect.poll(() => said, { timeout: 30_000 }).toContain('focalPowerDpt: 2');
    served.process.kill('SIGSTOP');
    child.stdin.write('silent now\n');
    await once(child, 'close');
    served.process.kill('SIGCONT');
    expect(said).toContain('camera-link-lost');
    await parkedAndAlone();
  });

  for (const [command, signal] of [
    ['autofocus', 'SIGKILL'],
    ['commission', 'SIGKILL'],
    ['autofocus', 'SIGINT'],
    ['commission', 'SIGINT'],
  ] as const) {
    it(`property: focuswright ${command}, ended by ${signal} in its sweep`, { timeout: 120_000 }, async () => {
      const station = join(folder, 'station.yaml');
      const order = {
        autofocus: ['--station', station, '--method', 'full-sweep'],
        commission: [station, '--out', join(folder, `run-${signal}`)],
      }[command];
      const program = ['dist/cli/main.js', command, ...order, '--camera', `genicam:${served.address}`];
      const child = spawn(process.execPath, program);
      const before = await observer.get('FocalPowerWriteCount');
      await expect
        .poll(async () => (await observer.get('FocalPowerWriteCount')) - before, { timeout: 60_000, interval: 20 })
        .toBeGreaterThan(3);
      expect(watches()).toHaveLength(1);
      child.kill(signal);
      const [code] = await once(child, 'close');
      // Ctrl-C parks by itself and says so; after a kill the watch does it.
      if (signal === 'SIGINT') {
        expect(code).toBe(130);
        expect(await observer.getFloat('FocalPower')).toBe(parkPowerDpt);
      }
      await parkedAndAlone();
    });
  }

  it('property: a program that ends well takes its watch with it, and keeps the power where it says so', async () => {
    const child = spawn(process.execPath, [
      '--input-type=module',
      '-e',
      program(served.address, 'await camera.close({ keepPower: true });'),
    ]);
    await once(child, 'close');
    await expect.poll(watches).toEqual([]);
    expect(await observer.getFloat('FocalPower')).toBe(2);
  });
});
