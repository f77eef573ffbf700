import { FocuswrightError } from '../base/index.js';
import type { Region } from '../image/index.js';
import type { CameraCapabilities } from './capabilities.js';

/** How the camera is set, beside its exposure. */
export interface CameraSettings {
  /** In the device's own unit; null: it has no gain. */
  gain: number | null;
  /** Part of the sensor that is read out. */
  region: Region;
  /** Name by the pixel format naming convention. */
  pixelFormat: string;
  /** Frame rate of a free run; null: whatever comes, or not told. */
  frameRateHz: number | null;
  /** What begins an exposure: the camera by itself, a command from the program, or an input line by its name. */
  trigger: 'free' | 'software' | { line: string };
}

/** The answer of a camera whose settings cannot be changed: fine where they are asked for as they are, else `setting-refused`. */
export function fixedSettings(
  wanted: Partial<CameraSettings>,
  now: CameraSettings,
  { camera }: { camera: string },
): CameraSettings {
  for (const [setting, value] of Object.entries(wanted)) {
    const inUse = now[setting as keyof CameraSettings];
    if (JSON.stringify(value) === JSON.stringify(inUse)) continue;
    throw new FocuswrightError('setting-refused', {
      camera,
      setting,
      wanted: JSON.stringify(value),
      allowed: JSON.stringify(inUse),
    });
  }
  return now;
}

/** Settings of a camera that always gives whole frames in its only format, exposed when asked for. */
export const wholeFrameSettings = ({ widthPx, heightPx, bitDepth }: CameraCapabilities): CameraSettings => ({
  gain: null,
  region: { xPx: 0, yPx: 0, widthPx, heightPx },
  pixelFormat: `Mono${bitDepth}`,
  frameRateHz: null,
  trigger: 'software',
});
