import type { CancelSignal, Clock } from '../base/index.js';
import type { CameraSettings } from './camera-settings.js';
import type { CameraCapabilities } from './capabilities.js';
import type { Frame } from './frame.js';

/** Who answers at the other end. */
export interface CameraIdentity {
  /** `sim:…`, `frames:…` or `genicam:…`. */
  id: string;
  model: string;
  lensModel: string;
  /** Serial numbers, where the device tells them. */
  serialNumber?: string;
  lensSerialNumber?: string;
}

/** State of the lens at a moment. */
export interface LensStatus {
  /** Power as read back; 0 without a lens. */
  focalPowerDpt: number;
  /** Current as read back; null where the device has no such reading. */
  currentMa: number | null;
  temperatureDegC: number | null;
  /** As the device reports it: `ready` is not proof of optical settling, and `unknown` is a controller that reports no motion. */
  state: 'ready' | 'moving' | 'fault' | 'unknown' | 'no-lens';
}

/**
 * A camera with an electronically tuned lens: all that a procedure may use. The simulated station, recorded frames and
 * real cameras implement it alike, and each runs the same suite of tests. A camera without a lens still measures;
 * commands to a lens are then refused with `lens-missing`.
 */
export interface FocusCamera {
  readonly id: string;
  /** true: its frames come from a simulation, also when they are read from a folder. Never cleared. */
  readonly simulated: boolean;
  readonly clock: Clock;
  identify(): Promise<CameraIdentity>;
  /** What camera and lens can do as they are set now. */
  capabilities(): Promise<CameraCapabilities>;
  /** Commands a power; returns the power really commanded. Throws `lens-power-out-of-range` rather than overdrive. */
  setFocalPower(command: { focalPowerDpt: number }): Promise<number>;
  /** Commands a current; returns the current really commanded. Throws `lens-current-out-of-range`, `feature-missing`. */
  setFocalCurrent(command: { currentMa: number }): Promise<number>;
  /** Returns the exposure really set; null for a recording that does not tell its own. */
  setExposure(command: { exposureMs: number }): Promise<number | null>;
  /** Changes gain, region, pixel format or trigger; returns all of them as they are in use. Throws `setting-refused`. */
  configure(wanted: Partial<CameraSettings>): Promise<CameraSettings>;
  lensStatus(): Promise<LensStatus>;
  /** Exposes one frame after the call and waits for it. Throws `frame-lost`, which may be tried again. */
  grab(options?: { signal?: CancelSignal }): Promise<Frame>;
  /** Good frames as they come, `count` of them or until `signal` is set; lost ones leave a gap in the frame numbers. */
  stream(options?: { count?: number; signal?: CancelSignal }): AsyncIterable<Frame>;
  /** Brings the lens to its safe power. Never throws; called on every way out. */
  park(): Promise<void>;
  /** Parks (with `keepPower` leaves the lens where it is) and frees the device; later calls throw `camera-closed`. */
  close(options?: { keepPower?: boolean }): Promise<void>;
}

/** Whatever brings the target to a distance: the simulated world, the recorded folder, or a person who is asked. */
export interface TargetStage {
  /** The only working distances there are (recorded frames), increasing; null: any. */
  readonly distancesMm: readonly number[] | null;
  /** Places the target and returns the working distance as read from the stage. Throws `target-not-placeable`. */
  placeTarget(request: { workingDistanceMm: number; signal?: CancelSignal }): Promise<number>;
}

/** Camera and stage that see the same target. */
export interface Bench {
  camera: FocusCamera;
  stage: TargetStage;
}
