/** What the camera and its lens can do, as data; null stands for "the device does not tell". */
export interface CameraCapabilities {
  /** Size and depth of the frames as the camera is set now. */
  widthPx: number;
  heightPx: number;
  bitDepth: number;
  /** Size of the whole sensor, and the grid that a region's corners lie on; null: the whole frame only. */
  sensorWidthPx: number;
  sensorHeightPx: number;
  regionStepPx: number | null;
  /** Names by the pixel format naming convention (Mono8, Mono12Packed, BayerRG8 …). */
  pixelFormats: readonly string[];
  exposureMinMs: number;
  exposureMaxMs: number;
  /** Limits of the gain, in the device's own unit. */
  gainMin: number | null;
  gainMax: number | null;
  /** Highest frame rate as set now. */
  frameRateHz: number;
  hasSoftwareTrigger: boolean;
  hasHardwareTrigger: boolean;
  hasSequencer: boolean;
  /** false: no lens is attached or known; powers are 0 and commands to a lens are refused. */
  hasLens: boolean;
  powerMinDpt: number;
  powerMaxDpt: number;
  /** The only powers that can be had (recorded frames), increasing; null: any inside the limits. */
  powersDpt: readonly number[] | null;
  /** Smallest step of the command and spread of a repeated one, 1σ. */
  controlStepDpt: number | null;
  repeatabilityDpt: number | null;
  /** Time after which a full step has settled. */
  settlingMs: number | null;
  /** Limits of the current; null where the lens takes none. */
  currentMinMa: number | null;
  currentMaxMa: number | null;
  hasTemperature: boolean;
}

/** What a camera that tells only the plain things can do, before those are filled in. */
export const plainCapabilities = {
  regionStepPx: null,
  pixelFormats: [],
  gainMin: null,
  gainMax: null,
  hasSoftwareTrigger: false,
  hasHardwareTrigger: false,
  hasSequencer: false,
  hasLens: true,
  powersDpt: null,
  controlStepDpt: null,
  repeatabilityDpt: null,
  settlingMs: null,
  currentMinMa: null,
  currentMaxMa: null,
} as const satisfies Partial<CameraCapabilities>;
