import { FocuswrightError, requireNumber } from '../../base/index.js';
import type { Features } from './features.js';

/** The exposure of a camera. */
export interface ExposureTime {
  minMs: number;
  maxMs: number;
  read(): Promise<number>;
  /** Returns the exposure really set. Throws RangeError outside the limits. */
  write(exposureMs: number): Promise<number>;
}

/** Names by age: the standard's, and those that it has replaced. All count microseconds. */
const names = ['ExposureTime', 'ExposureTimeAbs', 'ExposureTimeRaw'];

/** Finds the exposure of a camera and switches automatic exposure and gain off. Throws `feature-missing`. */
export async function exposureTimeOf(features: Features, camera: string): Promise<ExposureTime> {
  for (const automatic of ['ExposureAuto', 'GainAuto']) {
    if (await features.has(automatic)) await features.writeText(automatic, 'Off').catch(() => {});
  }
  for (const name of names) {
    const found = await features.describe(name);
    if (found?.access !== 'read-write') continue;
    const minMs = Math.max(found.min ?? 1, 1e-3) / 1000;
    const maxMs = Math.min(found.max ?? 1e7, 6e8) / 1000;
    const read = async () => (await features.readNumber(name)) / 1000;
    return {
      minMs,
      maxMs,
      read,
      async write(exposureMs) {
        requireNumber('exposureMs', exposureMs, { min: minMs, max: maxMs, unit: 'ms' });
        await features.writeNumber(name, Math.min(maxMs * 1000, Math.max(minMs * 1000, exposureMs * 1000)));
        return read();
      },
    };
  }
  throw new FocuswrightError('feature-missing', { camera, feature: 'ExposureTime' });
}
