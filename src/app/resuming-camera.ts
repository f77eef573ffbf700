import { type CancelSignal, FocuswrightError } from '../base/index.js';
import { type CameraSettings, type FocusCamera, wrapCamera } from '../devices/index.js';

/** How a lost camera is waited for. */
export interface Resuming {
  /** How long to wait for it. */
  patienceMs: number;
  /** Told when the link is lost and when it is there again. */
  onChange: (message: string) => void;
  /** What else must be brought back before the camera goes on. */
  restoreToo?: () => Promise<void>;
  signal?: CancelSignal;
}

const betweenTriesMs = 1000;
/** Wait after the lens was brought back to its power, where the device tells no settling time; common practice, no source. */
const settlingMs = 500;

/**
 * A camera that goes on after its link was lost and found again: exposure, settings and power are set anew, then the call that
 * failed is made once more.
 *
 * Throws   `camera-link-lost` when it does not come back within the patience, or when the signal is set meanwhile.
 */
export function resumingCamera(
  camera: FocusCamera,
  { patienceMs, onChange, restoreToo = async () => {}, signal }: Resuming,
): FocusCamera {
  let powerDpt: number | null = null;
  let exposureMs: number | null = null;
  let settings: Partial<CameraSettings> = {};

  async function restore(): Promise<void> {
    if (Object.keys(settings).length > 0) await camera.configure(settings);
    if (exposureMs !== null) await camera.setExposure({ exposureMs });
    await restoreToo();
    if (powerDpt === null) return;
    await camera.setFocalPower({ focalPowerDpt: powerDpt });
    await camera.clock.sleep((await camera.capabilities()).settlingMs ?? settlingMs);
  }
  async function comesBack(): Promise<boolean> {
    const untilMs = camera.clock.nowMs() + patienceMs;
    while (camera.clock.nowMs() < untilMs && !signal?.aborted) {
      await camera.clock.sleep(betweenTriesMs);
      try {
        await restore();
        return true;
      } catch (error) {
        if (!isLost(error)) throw error;
      }
    }
    return false;
  }
  async function resuming<T>(call: () => Promise<T>): Promise<T> {
    try {
      return await call();
    } catch (error) {
      if (!isLost(error)) throw error;
      onChange('The link to the camera was lost; waiting for it to come back');
      if (!(await comesBack())) throw error;
      onChange('The camera is back; going on');
      return call();
    }
  }

  return wrapCamera(camera, {
    capabilities: () => resuming(() => camera.capabilities()),
    lensStatus: () => resuming(() => camera.lensStatus()),
    grab: (options) => resuming(() => camera.grab(options)),
    async setFocalPower(command) {
      powerDpt = await resuming(() => camera.setFocalPower(command));
      return powerDpt;
    },
    async setExposure(command) {
      const set = await resuming(() => camera.setExposure(command));
      exposureMs = set;
      return set;
    },
    async configure(wanted) {
      const inUse = await resuming(() => camera.configure(wanted));
      settings = { ...settings, ...wanted };
      return inUse;
    },
  });
}

const isLost = (error: unknown) => error instanceof FocuswrightError && error.code === 'camera-link-lost';
