import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { loadavg } from 'node:os';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { bench, describe } from 'vitest';
import { greyImageOf } from '../src/drivers/genicam/pixel-formats.js';
import { openGenicamCamera } from '../src/drivers/index.js';
import { loopbackAddress, serveStation } from '../tests/wire/served-station.js';

// The driver over loopback. Frames are those of bench/genicam/still-camera.ts, which is cheap enough not to be what limits; Linux
// only. FOCUSWRIGHT_BENCH_SECONDS: how long each rate is measured. The served station of the last part needs a built project.

const seconds = Number(process.env.FOCUSWRIGHT_BENCH_SECONDS ?? 4);
const packetBytes = 1400;
/** Headers of IP, UDP and the streaming protocol. */
const overheadBytes = 36;
const cases = [
  { widthPx: 1280, heightPx: 1024, rates: [60, 110, 150, 1000] },
  { widthPx: 2448, heightPx: 2048, rates: [15, 30, 38, 1000] },
];

const round = (value: number, digits = 1) => value.toFixed(digits);

async function serveStill(address: string, widthPx: number, heightPx: number, rateHz: number): Promise<ChildProcess> {
  const args = [
    '--no-deprecation',
    '--import',
    'tsx',
    'bench/genicam/still-camera.ts',
    address,
    ...[widthPx, heightPx, rateHz].map(String),
  ];
  const child = spawn(process.execPath, args, { stdio: ['pipe', 'pipe', 'inherit'] });
  await once(child.stdout!, 'data');
  return child;
}

/** A packet of another frame, or one that is missing, breaks the row of marks. */
function isOfOnePiece(data: ArrayLike<number>): boolean {
  const chunkBytes = packetBytes - overheadBytes;
  for (let at = 0; at < data.length; at += chunkBytes) if (data[at] !== data[0]) return false;
  return true;
}

async function throughput(widthPx: number, heightPx: number, rateHz: number): Promise<void> {
  const address = loopbackAddress();
  const child = await serveStill(address, widthPx, heightPx, rateHz);
  const { camera } = await openGenicamCamera(address, { packetBytes });
  try {
    await camera.configure({ trigger: 'free', frameRateHz: rateHz });
    const delay = monitorEventLoopDelay({ resolution: 1 });
    let [good, mistaken, lost, lastId] = [0, 0, 0, 0];
    let beganMs = Number.POSITIVE_INFINITY;
    let cpu = process.cpuUsage();
    for await (const { image, frameId } of camera.stream()) {
      if (performance.now() - beganMs > seconds * 1000) break;
      if (lastId === 0) {
        beganMs = performance.now();
        cpu = process.cpuUsage();
        delay.enable();
      } else {
        good++;
        lost += frameId - lastId - 1;
        if (!isOfOnePiece(image.data)) mistaken++;
      }
      lastId = frameId;
    }
    const { user, system } = process.cpuUsage(cpu);
    const rate = good / ((performance.now() - beganMs) / 1000);
    console.log(
      `${widthPx} × ${heightPx} Mono8, ${rateHz} frames/s offered: ${round(rate)} good frames/s, ${lost} lost, ${mistaken} mistaken for good;`,
      `processor time ${round((user + system) / 1000 / good, 2)} ms a good frame; event loop late by ${round(delay.percentile(99) / 1e6 - 1)} ms`,
      `at the 99th percentile; load ${round(loadavg()[0]!)}`,
    );
  } finally {
    await camera.close();
    child.kill('SIGKILL');
  }
}

/** A still camera costs nothing beyond settling, exposure and readout: what is more is the driver's and the machine's. */
async function latencyOfDriver(widthPx: number, heightPx: number, packets: number): Promise<void> {
  const address = loopbackAddress();
  const child = await serveStill(address, widthPx, heightPx, 100);
  try {
    await latency(address, `still camera ${widthPx} × ${heightPx} (13.8 + 0.6 + 8 ms), packets of ${packets}`, packets);
  } finally {
    child.kill('SIGKILL');
  }
}

async function latencyOfStation(widthPx: number, heightPx: number): Promise<void> {
  const served = await serveStation({ change: (file) => Object.assign(file.parts.sensor, { widthPx, heightPx }) });
  try {
    await latency(served.address, `served station ${widthPx} × ${heightPx}, rendered`);
  } finally {
    await served.kill();
  }
}

async function latency(address: string, of: string, packets?: number): Promise<void> {
  const { camera } = await openGenicamCamera(address, { packetBytes: packets });
  try {
    const times: number[] = [];
    await camera.grab();
    for (let i = 0; i < 80; i++) {
      const beganMs = performance.now();
      await camera.setFocalPower({ focalPowerDpt: -1 + ((i * 7) % 20) * 0.1 });
      while ((await camera.lensStatus()).state === 'moving') await camera.clock.sleep(1);
      await camera.grab();
      times.push(performance.now() - beganMs);
    }
    times.sort((a, b) => a - b);
    const at = (share: number) => round(times[Math.floor(share * times.length)]!);
    console.log(
      `power set → settled frame in hand, ${of}: 10 % ${at(0.1)}, median ${at(0.5)}, 90 % ${at(0.9)} ms; load ${round(loadavg()[0]!)}`,
    );
  } finally {
    await camera.close();
  }
}

for (const { widthPx, heightPx, rates } of cases) {
  for (const rateHz of rates) await throughput(widthPx, heightPx, rateHz);
}
for (const packets of [1400, 9000]) await latencyOfDriver(1280, 1024, packets);
await latencyOfStation(480, 384);
await latencyOfStation(1280, 1024);

describe('a frame of the wire as a grey image, 2448 × 2048', () => {
  const [widthPx, heightPx] = [2448, 2048];
  for (const [name, formatCode, bytesEach] of [
    ['Mono8', 0x01080001, 1],
    ['Mono12', 0x01100005, 2],
    ['Mono12p', 0x010c0047, 1.5],
  ] as const) {
    const bytes = new Uint8Array(widthPx * heightPx * bytesEach).fill(100);
    bench(name, () => void greyImageOf({ bytes, formatCode, widthPx, heightPx, camera: 'bench' }));
  }
});
