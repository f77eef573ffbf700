import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { completeCamera, type FocusCamera, plainCapabilities } from '../../src/devices/index.js';
import type { GreyImage } from '../../src/image/index.js';
import { type FocusMethod, runFocusSearch } from '../../src/procedures/index.js';
import { defocusedScene, framePx } from './defocused-scene.js';

const stepDpt = 0.05;
const [powerMinDpt, powerMaxDpt] = [-2, 3];

/** A camera on one scene, its frames made beforehand so that a run costs little; best focus is where it is set. */
export function cheapFocusCamera(): { camera: FocusCamera; setBestFocus(bestDpt: number): void } {
  const { see } = defocusedScene({ bestFocusDpt: 0, blurRadiusPerDptPx: 8, seed: 4 });
  const steps = Math.round((powerMaxDpt - powerMinDpt) / stepDpt);
  const images: GreyImage[] = Array.from({ length: 2 * steps + 1 }, (_, i) => see((i - steps) * stepDpt));
  const onGrid = (dpt: number) => Number((Math.round(dpt / stepDpt) * stepDpt).toFixed(9));
  let [nowMs, atDpt, bestDpt, frameId] = [0, 0, 0, 0];
  const camera = completeCamera({
    id: 'sim:cheap',
    simulated: true,
    clock: {
      nowMs: () => nowMs,
      async sleep(durationMs) {
        nowMs += durationMs;
      },
    },
    identify: async () => ({ id: 'sim:cheap', model: 'cheap', lensModel: 'cheap' }),
    capabilities: async () => ({
      ...plainCapabilities,
      widthPx: framePx,
      heightPx: framePx,
      sensorWidthPx: framePx,
      sensorHeightPx: framePx,
      bitDepth: 12,
      powerMinDpt,
      powerMaxDpt,
      exposureMinMs: 0.1,
      exposureMaxMs: 10,
      frameRateHz: 100,
      hasTemperature: false,
    }),
    async setFocalPower({ focalPowerDpt }) {
      atDpt = onGrid(focalPowerDpt);
      return atDpt;
    },
    setExposure: async ({ exposureMs }) => exposureMs,
    lensStatus: async () => ({ focalPowerDpt: atDpt, currentMa: null, temperatureDegC: null, state: 'ready' }),
    async grab() {
      nowMs += 10;
      const { data, ...size } = images[Math.round((atDpt - bestDpt) / stepDpt) + steps]!;
      return {
        // As a real one: each frame has pixels of its own.
        image: { ...size, data: data.slice() },
        frameId: ++frameId,
        focalPowerDpt: atDpt,
        exposureMs: 1,
        temperatureDegC: null,
        exposedAtMs: nowMs - 5,
        arrivedAtMs: nowMs,
        source: 'sim:cheap',
        fileName: null,
      };
    },
    async park() {
      atDpt = 0;
    },
    async close() {},
  });
  return {
    camera,
    setBestFocus(wantedDpt) {
      bestDpt = onGrid(wantedDpt);
    },
  };
}

/** Memory in use after two collections, pixels outside the heap included. */
function memoryInUseBytes(): number {
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc') as () => void;
  collect();
  collect();
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return heapUsed + arrayBuffers;
}

/**
 * Runs many searches, one after the other, at changing best focus, and reads the memory in use at equal intervals.
 *
 * Returns  bytes after each interval; how many searches found focus.
 */
export async function memoryOverRuns({
  methods,
  runCount,
  readings,
  onReading,
}: {
  /** Used in turn. */
  methods: readonly FocusMethod[];
  runCount: number;
  readings: number;
  onReading?: (at: { run: number; bytes: number }) => void;
}): Promise<{ bytes: number[]; foundCount: number; frameCount: number }> {
  const { camera, setBestFocus } = cheapFocusCamera();
  const region = { xPx: 0, yPx: 0, widthPx: framePx, heightPx: framePx };
  const bytes: number[] = [];
  let [foundCount, frameCount] = [0, 0];
  for (let run = 1; run <= runCount; run++) {
    setBestFocus(-1.5 + 4 * ((run * 0.618) % 1));
    const result = await runFocusSearch({
      camera,
      method: methods[run % methods.length]!,
      region,
      response: { settlingMs: () => 20, hysteresisDpt: 0 },
    });
    if (result.kind === 'found') foundCount++;
    frameCount += result.frames;
    if (run % Math.floor(runCount / readings) !== 0) continue;
    bytes.push(memoryInUseBytes());
    onReading?.({ run, bytes: bytes.at(-1)! });
  }
  return { bytes, foundCount, frameCount };
}
