import type { CancelSignal, Clock } from '../base/index.js';
import type { Frame } from './frame.js';

/** Who answers at the other end. */
export interface CameraIdentity {
  /** `sim:…`, `frames:…` or `genicam:…`. */
  id: string;
  model: string;
  lensModel: string;
}

/** What the camera and its lens can do, as data. */
export interface CameraCapabilities {
  widthPx: number;
  heightPx: number;
  bitDepth: number;
  powerMinDpt: number;
  powerMaxDpt: number;
  /** The only powers that can be had (recorded frames), increasing; null: any inside the limits. */
  powersDpt: readonly number[] | null;
  exposureMinMs: number;
  exposureMaxMs: number;
  frameRateHz: number;
  hasTemperature: boolean;
}

/** State of the lens at a moment. */
export interface LensStatus {
  focalPowerDpt: number;
  temperatureDegC: number | null;
  /** `moving` as the device reports it; it is not proof of optical settling. */
  state: 'ready' | 'moving' | 'fault';
}

/**
 * A camera with an electronically tuned lens: all that a procedure may use. The simulated station, recorded frames and
 * real cameras implement it alike, and each runs the same suite of tests.
 */
export interface FocusCamera {
  readonly id: string;
  /** true: its frames come from a simulation, also when they are read from a folder. Never cleared. */
  readonly simulated: boolean;
  readonly clock: Clock;
  identify(): Promise<CameraIdentity>;
  capabilities(): Promise<CameraCapabilities>;
  /** Commands a power; returns the power really commanded. Throws `lens-power-out-of-range` rather than overdrive. */
  setFocalPower(command: { focalPowerDpt: number }): Promise<number>;
  /** Returns the exposure really set; null for a recording that does not tell its own. */
  setExposure(command: { exposureMs: number }): Promise<number | null>;
  lensStatus(): Promise<LensStatus>;
  /** Exposes one frame after the call and waits for it. */
  grab(options?: { signal?: CancelSignal }): Promise<Frame>;
  /** Brings the lens to its safe power. Never throws; called on every way out. */
  park(): Promise<void>;
  /** Parks and frees the device; later calls throw `camera-closed`. */
  close(): Promise<void>;
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
