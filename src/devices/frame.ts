import type { GreyImage } from '../image/index.js';

/** One frame with what is known of the moment it was exposed. */
export interface Frame {
  image: GreyImage;
  /** Running number from the device, increasing. */
  frameId: number;
  /** Focal power read back for the exposure; what the device claims, not what an error in it makes true. */
  focalPowerDpt: number;
  /** null: a recording that does not tell it. */
  exposureMs: number | null;
  /** Lens temperature, or null if the device has no reading. */
  temperatureDegC: number | null;
  /** Middle of the exposure on the camera's clock. */
  exposedAtMs: number;
  /** Arrival in this process on the camera's clock. */
  arrivedAtMs: number;
  /** Id of the device that exposed it: begins with `sim:`, `frames:` or `genicam:`. A recorded frame keeps the source it was recorded with. */
  source: string;
  /** Name of the file a recorded frame came from; null for a live one. */
  fileName: string | null;
}
