import { requireNumber } from '../base/index.js';
import type { FocusCamera } from './contract.js';
import { wrapCamera } from './wrap-camera.js';

/** The tighter of station and device limits. */
export interface LensLimits {
  powerMinDpt: number;
  powerMaxDpt: number;
}

/**
 * Stands between every procedure and the camera, so that no power outside the limits leaves the process.
 *
 * Model    a finite command is clamped to the tighter of `limits` and the device's own; NaN and infinities are refused.
 * Returns  the camera with a guarded `setFocalPower`, which returns the power really commanded.
 * Throws   RangeError for a command that is not finite, or if the limits leave nothing.
 */
export async function guardLens(camera: FocusCamera, limits: LensLimits): Promise<FocusCamera> {
  const own = await camera.capabilities();
  const min = requireNumber('powerMinDpt', limits.powerMinDpt, { unit: 'dpt' });
  const max = requireNumber('powerMaxDpt', limits.powerMaxDpt, { unit: 'dpt' });
  if (Math.max(min, own.powerMinDpt) > Math.min(max, own.powerMaxDpt)) {
    throw new RangeError(
      `the limits of the station (${limits.powerMinDpt} … ${limits.powerMaxDpt} dpt) and of the lens (${own.powerMinDpt} … ${own.powerMaxDpt} dpt) have no power in common`,
    );
  }
  // The device's own limits can change, as those of a recording do from one distance to the next: asked anew each time.
  const tighter = async () => {
    const now = await camera.capabilities();
    return {
      ...now,
      powerMinDpt: Math.max(min, now.powerMinDpt),
      powerMaxDpt: Math.min(max, now.powerMaxDpt),
      powersDpt: now.powersDpt?.filter((power) => power >= min && power <= max) ?? null,
    };
  };
  return wrapCamera(camera, {
    capabilities: tighter,
    async setFocalPower({ focalPowerDpt }) {
      requireNumber('focalPowerDpt', focalPowerDpt, { unit: 'dpt' });
      const { powerMinDpt, powerMaxDpt } = await tighter();
      return camera.setFocalPower({ focalPowerDpt: Math.min(powerMaxDpt, Math.max(powerMinDpt, focalPowerDpt)) });
    },
  });
}

/** Runs `work` and parks the lens on every way out: return, error or cancel. */
export async function withParkedLens<T>(camera: FocusCamera, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } finally {
    await camera.park();
  }
}
