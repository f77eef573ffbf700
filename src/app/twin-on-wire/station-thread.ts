import { setTimeout as wait } from 'node:timers/promises';
import { parentPort, workerData } from 'node:worker_threads';
import { FocuswrightError, seededRandom } from '../../base/index.js';
import { type FrameSender, openFrameSender } from '../../drivers/index.js';
import { createSimulatedBench, plain, slavedClock } from '../../twin/index.js';
import type { AcquisitionSettings, FromThread, ThreadOrder, ToThread } from './messages.js';
import { wirePixels } from './wire-pixels.js';

// The thread of the simulated station: renders frames and sends them, so that commands never wait for a frame.
const order = workerData as ThreadOrder;
const { station, seed, faults, scene, secondPlaneMm, wireFaults, killedAfterCount, host, startNs } = order;
const port = parentPort!;
const tell = (message: FromThread) => port.postMessage(message);
const wallMs = () => Number(process.hrtime.bigint() - startNs) / 1e6;
const clock = slavedClock({ wallMs, wait: (durationMs) => wait(durationMs) });
const { camera, stage, prepare } = createSimulatedBench({
  station,
  seed,
  faults,
  secondPlaneMm,
  clock,
  ...(scene === 'plain' && { scene: plain }),
});
const random = seededRandom(seed).fork('wire');
const lensEveryMs = 100;

let settings: AcquisitionSettings | null = null;
let acquisition: Acquisition | null = null;
let frameCount = 0;

interface Acquisition {
  /** null: not open yet. */
  sender: FrameSender | null;
  isActive: boolean;
  /** Time of a trigger that no frame has answered yet. */
  triggeredMs: number | null;
  wake: () => void;
}

async function acquire(run: Acquisition, sender: FrameSender, frameCountMax: number): Promise<void> {
  let nextMs = clock.nowMs();
  for (let blockId = 1, taken = 0; run.isActive && taken < frameCountMax; taken++, blockId = (blockId % 65535) + 1) {
    const { frameRateHz } = settings!;
    if (frameRateHz === null) {
      while (run.isActive && run.triggeredMs === null) await new Promise<void>((resolve) => (run.wake = resolve));
      if (!run.isActive) break;
      clock.catchUp(run.triggeredMs!);
      run.triggeredMs = null;
    } else {
      clock.catchUp(wallMs());
      await clock.sleep(Math.max(0, nextMs - clock.nowMs()));
      nextMs = clock.nowMs() + 1000 / frameRateHz;
    }
    await takeFrame(sender, blockId);
  }
}

async function takeFrame(sender: FrameSender, blockId: number): Promise<void> {
  const used = settings!;
  await camera.setExposure({ exposureMs: used.exposureMs });
  try {
    const { image, exposedAtMs, exposureMs } = await camera.grab();
    const { pixelFormat, xPx, yPx, widthPx, heightPx } = used;
    const data = wirePixels(image, used, { blackLevelDn: station.parts.sensor.blackLevelDn });
    const timestampNs = BigInt(Math.round((exposedAtMs - exposureMs! / 2) * 1e6));
    await sender.send({ blockId, timestampNs, pixelFormat, xPx, yPx, widthPx, heightPx, data });
    if (killedAfterCount !== null && ++frameCount >= killedAfterCount) process.kill(process.pid, 'SIGKILL');
  } catch (error) {
    if (!(error instanceof FocuswrightError)) throw error;
    if (error.code === 'camera-link-lost') {
      tell({ type: 'link-lost' });
      stop();
    }
  }
}

async function start(message: Extract<ToThread, { type: 'start' }>): Promise<void> {
  stop();
  clock.catchUp(message.atMs);
  const opening = openFrameSender({
    host,
    target: message.target,
    faults: wireFaults,
    random: random.fork('stream'),
  });
  // From now on, not from when the socket is open: a trigger may come before that.
  const run: Acquisition = { sender: null, isActive: true, triggeredMs: null, wake: () => {} };
  acquisition = run;
  run.sender = await opening;
  await acquire(run, run.sender, message.frameCountMax);
  run.sender.close();
  if (acquisition === run) {
    acquisition = null;
    tell({ type: 'stopped' });
  }
}

function stop(): void {
  if (!acquisition) return;
  acquisition.isActive = false;
  acquisition.wake();
  acquisition = null;
}

function trigger(atMs: number): void {
  if (!acquisition || acquisition.triggeredMs !== null) {
    tell({ type: 'trigger-missed' });
    return;
  }
  acquisition.triggeredMs = atMs;
  acquisition.wake();
}

async function move(atMs: number, focalPowerDpt: number): Promise<void> {
  clock.catchUp(atMs);
  await camera.setFocalPower({ focalPowerDpt }).catch(() => {});
  await tellLens();
}

async function place(atMs: number, workingDistanceMm: number): Promise<void> {
  clock.catchUp(atMs);
  const isPlaced = await stage.placeTarget({ workingDistanceMm }).then(
    () => true,
    () => false,
  );
  // Not while a client waits for its frame.
  if (isPlaced) prepare();
  tell({ type: 'target', isPlaced });
}

async function tellLens(): Promise<void> {
  const status = await camera.lensStatus().catch(() => null);
  if (status) tell({ type: 'lens', temperatureDegC: status.temperatureDegC!, isFaulty: status.state === 'fault' });
}

port.on('message', (message: ToThread) => {
  switch (message.type) {
    case 'power':
      return void move(message.atMs, message.focalPowerDpt);
    case 'settings':
      settings = message.settings;
      return;
    case 'start':
      return void start(message);
    case 'stop':
      return stop();
    case 'trigger':
      return trigger(message.atMs);
    case 'target':
      return void place(message.atMs, message.workingDistanceMm);
    case 'resend':
      return acquisition?.sender?.resend(message.request);
    case 'end':
      stop();
      clearInterval(lensTimer);
      port.close();
  }
});

const lensTimer = setInterval(() => {
  clock.catchUp(wallMs());
  void tellLens();
}, lensEveryMs);

const { settlingMs } = await camera.capabilities();
prepare();
await tellLens();
tell({ type: 'ready', settlingMs: settlingMs ?? 0 });
