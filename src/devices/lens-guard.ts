import { FocuswrightError, requireNumber } from '../base/index.js';
import type { FocusCamera } from './contract.js';
import type { Frame } from './frame.js';
import { wrapCamera } from './wrap-camera.js';

/** The tighter of station and device limits. */
export interface LensLimits {
  powerMinDpt: number;
  powerMaxDpt: number;
  /** Of a lens that is driven by current; without them the device's own hold. */
  currentMinMa?: number;
  currentMaxMa?: number;
  /** Fastest change of the commanded power; without it a command is one step. */
  slewLimitDptPerS?: number;
  /** Highest temperature of the lens. */
  temperatureMaxDegC?: number;
}

/** A slewed command goes out in steps of so long. */
const slewStepMs = 5;

/**
 * Stands between every procedure and the camera, so that no power outside the limits leaves the process.
 *
 * Model    a finite command is clamped to the tighter of `limits` and the device's own; NaN and infinities are refused. With a
 *          slew limit a command goes out in steps of 5 ms. A frame or status whose temperature is above the limit parks the
 *          lens; the frame is refused, and commands are refused until a reading is below it again.
 * Returns  the camera with guarded commands, which return what was really commanded.
 * Throws   RangeError for a command that is not finite, or if the limits leave nothing; `lens-too-hot`, `lens-missing`.
 */
export async function guardLens(camera: FocusCamera, limits: LensLimits): Promise<FocusCamera> {
  const own = await camera.capabilities();
  const min = requireNumber('powerMinDpt', limits.powerMinDpt, { unit: 'dpt' });
  const max = requireNumber('powerMaxDpt', limits.powerMaxDpt, { unit: 'dpt' });
  if (own.hasLens && Math.max(min, own.powerMinDpt) > Math.min(max, own.powerMaxDpt)) {
    throw new RangeError(
      `the limits of the station (${limits.powerMinDpt} … ${limits.powerMaxDpt} dpt) and of the lens (${own.powerMinDpt} … ${own.powerMaxDpt} dpt) have no power in common`,
    );
  }
  const { slewLimitDptPerS, temperatureMaxDegC } = limits;
  let isHot = false;
  // The device's own limits can change, as those of a recording do from one distance to the next: asked anew each time.
  const tighter = async () => {
    const now = await camera.capabilities();
    if (!now.hasLens) return now;
    return {
      ...now,
      powerMinDpt: Math.max(min, now.powerMinDpt),
      powerMaxDpt: Math.min(max, now.powerMaxDpt),
      powersDpt: now.powersDpt?.filter((power) => power >= min && power <= max) ?? null,
      currentMinMa: tighterBound(Math.max, now.currentMinMa, limits.currentMinMa),
      currentMaxMa: tighterBound(Math.min, now.currentMaxMa, limits.currentMaxMa),
    };
  };
  /** true: the lens is too hot, and was parked. */
  async function isParkedHot(temperatureDegC: number | null): Promise<boolean> {
    if (temperatureMaxDegC === undefined || temperatureDegC === null) return false;
    isHot = temperatureDegC > temperatureMaxDegC;
    if (isHot) await camera.park();
    return isHot;
  }
  async function watch(temperatureDegC: number | null): Promise<void> {
    if (temperatureDegC === null || !(await isParkedHot(temperatureDegC))) return;
    throw new FocuswrightError('lens-too-hot', {
      temperature: `${temperatureDegC.toFixed(1)} °C`,
      allowed: `≤ ${temperatureMaxDegC} °C`,
    });
  }
  async function requireCool(): Promise<void> {
    if (isHot) await watch((await camera.lensStatus()).temperatureDegC);
  }
  async function slewTo(focalPowerDpt: number): Promise<number> {
    if (slewLimitDptPerS === undefined) return camera.setFocalPower({ focalPowerDpt });
    const stepDpt = (slewLimitDptPerS * slewStepMs) / 1000;
    let atDpt = (await camera.lensStatus()).focalPowerDpt;
    while (Math.abs(focalPowerDpt - atDpt) > stepDpt) {
      atDpt += Math.sign(focalPowerDpt - atDpt) * stepDpt;
      await camera.setFocalPower({ focalPowerDpt: atDpt });
      await camera.clock.sleep(slewStepMs);
    }
    return camera.setFocalPower({ focalPowerDpt });
  }
  async function watched(frame: Frame): Promise<Frame> {
    await watch(frame.temperatureDegC);
    return frame;
  }
  return wrapCamera(camera, {
    capabilities: tighter,
    async setFocalPower({ focalPowerDpt }) {
      requireNumber('focalPowerDpt', focalPowerDpt, { unit: 'dpt' });
      const { powerMinDpt, powerMaxDpt } = await tighter();
      await requireCool();
      return slewTo(Math.min(powerMaxDpt, Math.max(powerMinDpt, focalPowerDpt)));
    },
    async setFocalCurrent({ currentMa }) {
      requireNumber('currentMa', currentMa, { unit: 'mA' });
      const { currentMinMa, currentMaxMa } = await tighter();
      await requireCool();
      const low = currentMinMa ?? Number.NEGATIVE_INFINITY;
      const high = currentMaxMa ?? Number.POSITIVE_INFINITY;
      return camera.setFocalCurrent({ currentMa: Math.min(high, Math.max(low, currentMa)) });
    },
    async lensStatus() {
      const status = await camera.lensStatus();
      // Whoever asks how the lens is gets told; the next command is refused.
      await isParkedHot(status.temperatureDegC);
      return status;
    },
    async grab(options) {
      return watched(await camera.grab(options));
    },
    async *stream(options) {
      for await (const frame of camera.stream(options)) yield watched(frame);
    },
  });
}

/** The tighter of a device's bound and a station's; null where the device has none. */
function tighterBound(pick: (a: number, b: number) => number, own: number | null, wanted?: number): number | null {
  return own === null ? null : pick(own, wanted ?? own);
}

/** Runs `work` and parks the lens on every way out: return, error or cancel. */
export async function withParkedLens<T>(camera: FocusCamera, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } finally {
    await camera.park();
  }
}
