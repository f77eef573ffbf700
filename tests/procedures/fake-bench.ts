import { FocuswrightError, seededRandom } from '../../src/base/index.js';
import { type Bench, completeCamera, type Frame, plainCapabilities } from '../../src/devices/index.js';
import type { GreyImage } from '../../src/image/index.js';
import { focusCommandDpt } from '../../src/procedures/distance-calibration/focus-command.js';
import { beginRun, type Run } from '../../src/procedures/run-context.js';
import type { RunEvent } from '../../src/protocol/index.js';
import { nominalBuild, powerLimitsOf, type Station } from '../../src/station/index.js';

const widthPx = 160;
const heightPx = 128;

/** How a fake bench behaves. */
export interface FakeBenchOptions {
  station: Station;
  /** Build errors of the fake, beside the station's own values. */
  build?: Partial<ReturnType<typeof nominalBuild>>;
  scene?: 'texture' | 'flat' | 'black' | 'white' | 'two-planes';
  /** The lens answers, but its power stays here. */
  stuckAtDpt?: number;
  /** A stuck lens claims to follow. */
  liesWhenStuck?: boolean;
  distancesMm?: number[];
  temperatureDegC?: number | null;
  /** Called before each frame with its number; may throw or cancel. */
  beforeGrab?: (count: number) => void;
}

/** What was seen of the fake. */
export interface FakeBench extends Bench {
  commandsDpt: number[];
  parks: number;
  grabs: number;
  trueCommandDpt(workingDistanceMm: number): number;
}

/**
 * A camera in a test: a random texture blurred by a Gaussian whose width grows with the distance from best focus, on a
 * clock of its own. It throws for a command outside its limits, and shows the blur of a lens that has not settled.
 */
export function fakeBench(options: FakeBenchOptions): FakeBench {
  const { station, scene = 'texture' } = options;
  const random = seededRandom(99);
  const texture = Float64Array.from({ length: widthPx * heightPx }, () => 120 + 45 * random.normal());
  const limits = powerLimitsOf(station);
  const { naturalFrequencyHz, dampingRatio, deadTimeMs } = station.parts.tunableLens;
  let nowMs = 0;
  let distanceMm = 0;
  let { exposureMs } = station.controls;
  let fromDpt = 0;
  let commandDpt = 0;
  let commandedAtMs = -1e9;

  const trueCommandDpt = (workingDistanceMm: number) =>
    focusCommandDpt({ station, build: { ...nominalBuild(station), ...options.build }, workingDistanceMm });
  /** Envelope of the second-order response: what is left of the step. */
  const powerNow = () => {
    if (options.stuckAtDpt !== undefined) return options.stuckAtDpt;
    const movingMs = Math.max(0, nowMs - commandedAtMs - deadTimeMs);
    const left = Math.exp((-dampingRatio * 2 * Math.PI * naturalFrequencyHz * movingMs) / 1000);
    return commandDpt + (fromDpt - commandDpt) * left;
  };
  const readBack = () => (options.stuckAtDpt !== undefined && !options.liesWhenStuck ? options.stuckAtDpt : commandDpt);

  const camera = completeCamera({
    id: 'sim:fake',
    clock: {
      nowMs: () => nowMs,
      async sleep(durationMs) {
        nowMs += durationMs;
      },
    },
    simulated: true,
    identify: async () => ({ id: 'sim:fake', model: 'fake', lensModel: 'fake lens' }),
    capabilities: async () => ({
      ...plainCapabilities,
      ...limits,
      widthPx,
      heightPx,
      sensorWidthPx: widthPx,
      sensorHeightPx: heightPx,
      bitDepth: 8,
      exposureMinMs: 0.05,
      exposureMaxMs: 20,
      frameRateHz: 100,
      hasTemperature: true,
    }),
    async setFocalPower({ focalPowerDpt }) {
      if (!(focalPowerDpt >= limits.powerMinDpt && focalPowerDpt <= limits.powerMaxDpt)) {
        throw new FocuswrightError('lens-power-out-of-range', { focalPowerDpt });
      }
      bench.commandsDpt.push(focalPowerDpt);
      fromDpt = powerNow();
      commandDpt = focalPowerDpt;
      commandedAtMs = nowMs;
      return focalPowerDpt;
    },
    async setExposure(command) {
      exposureMs = command.exposureMs;
      return exposureMs;
    },
    lensStatus: async () => ({
      focalPowerDpt: readBack(),
      currentMa: null,
      temperatureDegC: options.temperatureDegC === undefined ? 25 : options.temperatureDegC,
      state: 'ready',
    }),
    async grab(): Promise<Frame> {
      options.beforeGrab?.(bench.grabs);
      const off = powerNow() - trueCommandDpt(distanceMm);
      nowMs += exposureMs + 8;
      return {
        image: picture(off),
        frameId: bench.grabs++,
        focalPowerDpt: readBack(),
        exposureMs,
        temperatureDegC: options.temperatureDegC === undefined ? 25 : options.temperatureDegC,
        exposedAtMs: nowMs - 8,
        arrivedAtMs: nowMs,
        source: 'sim:fake',
        fileName: null,
      };
    },
    async park() {
      bench.parks++;
    },
    async close() {},
  });

  function picture(offDpt: number): GreyImage {
    const sharp = scene === 'flat' ? new Float64Array(texture.length).fill(120) : texture;
    let blurred = blur(sharp, sigmaPx(offDpt));
    if (scene === 'two-planes') {
      const other = blur(sharp, sigmaPx(offDpt - 1.2));
      blurred = blurred.map((v, i) => (i % widthPx < widthPx / 2 ? v : other[i]!));
    }
    const level = (scene === 'black' ? 0 : scene === 'white' ? 10 : 1) * (exposureMs / station.controls.exposureMs);
    const data = new Uint8Array(texture.length);
    for (let i = 0; i < data.length; i++) {
      data[i] = Math.max(0, Math.min(255, Math.round(2 + level * blurred[i]! + 1.6 * random.normal())));
    }
    return { widthPx, heightPx, bitDepth: 8, data };
  }

  const bench: FakeBench = {
    camera,
    stage: {
      distancesMm: options.distancesMm ?? null,
      async placeTarget({ workingDistanceMm }) {
        distanceMm = workingDistanceMm;
        return workingDistanceMm;
      },
    },
    commandsDpt: [],
    parks: 0,
    grabs: 0,
    trueCommandDpt,
  };
  return bench;
}

const sigmaPx = (offDpt: number) => Math.hypot(0.8, 8 * offDpt);

/** Separable Gaussian, edges continued. */
function blur(image: Float64Array, sigma: number): Float64Array {
  const reach = Math.ceil(3 * sigma);
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-((i - reach) ** 2) / (2 * sigma * sigma)));
  const sum = kernel.reduce((a, b) => a + b, 0);
  const along = (source: Float64Array, step: number, at: (i: number) => number, length: number) =>
    source.map((_, i) => {
      const here = at(i);
      let total = 0;
      for (let k = -reach; k <= reach; k++) {
        const moved = Math.min(length - 1, Math.max(0, here + k));
        total += kernel[k + reach]! * source[i + (moved - here) * step]!;
      }
      return total / sum;
    });
  const rows = along(image, 1, (i) => i % widthPx, widthPx);
  return along(rows, widthPx, (i) => Math.floor(i / widthPx), heightPx);
}

/** A run on a bench with evidence in memory, and the events it sent. */
export async function fakeRun(
  bench: Bench,
  station: Station,
  signal = { aborted: false },
): Promise<{ run: Run; events: RunEvent[]; kept: string[] }> {
  const events: RunEvent[] = [];
  const kept: string[] = [];
  const run = await beginRun({
    station,
    bench,
    evidence: memoryEvidence(kept),
    observer: (e) => events.push(e),
    signal,
  });
  return { run, events, kept };
}

/** Keeps names only. */
export const memoryEvidence = (kept: string[]) => ({
  async keepFrame(_: Frame, label: string) {
    kept.push(label);
    return { file: `frames/${kept.length}-${label}.tiff`, sha256: 'f'.repeat(64) };
  },
});
