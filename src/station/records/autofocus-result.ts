/** Ways to look for focus. */
export const focusMethodNames = ['model', 'full-sweep', 'hill-climb', 'fibonacci', 'golden-section'] as const;
export type FocusMethodName = (typeof focusMethodNames)[number];

/** Why no focus is claimed. */
export const focusRefusalReasons = [
  'no-texture',
  'too-dark',
  'saturated',
  'two-planes',
  'out-of-range',
  'unstable-scene',
  'device',
] as const;
export type FocusRefusalReason = (typeof focusRefusalReasons)[number];

/** One frame that a search looked at. */
export interface FocusProbe {
  role: 'probe' | 'confirm';
  /** As commanded; the middle of the exposure's powers where the lens still moved. */
  focalPowerDpt: number;
  /** How far the power moved during the exposure; 0 for a lens at rest. */
  travelDpt: number;
  /** Sharpness of the region by the method's own measure, with its standard deviation from noise (null: not known). */
  measure: number;
  measureStd: number | null;
  meanGreyDn: number;
  exposedAtMs: number;
}

/** How sharp the confirming frame is beside what was predicted before it was taken. */
export interface FocusConfirmation {
  measured: number;
  predicted: number;
  /** Standard deviation of the difference that noise and model error allow. */
  differenceStd: number;
}

/** Probability of best focus over the powers that were considered. */
export interface FocusPosterior {
  focalPowersDpt: readonly number[];
  /** Per dpt; its integral over the powers is 1. */
  densitiesPerDpt: readonly number[];
}

/** How strongly a camera's picture blurs with the focal power, as its frames told. */
export interface LearnedBlur {
  /** Frequency from which on the optics pass nothing, in cycles per pixel. */
  cutoffPerPx: number;
  /** Radius of the blur disc that a power one dioptre off makes. */
  blurRadiusPerDptPx: number;
  /** 1σ of its natural logarithm. */
  blurRadiusLogStd: number;
}

/** The same over several runs. */
export interface KeptBlur extends LearnedBlur {
  runCount: number;
}

interface FocusSearchSeen {
  method: FocusMethodName;
  /** All frames grabbed, the confirming one included. */
  frames: number;
  elapsedMs: number;
  region: { xPx: number; yPx: number; widthPx: number; heightPx: number };
  probes: FocusProbe[];
  /** null: the method has none. */
  posterior: FocusPosterior | null;
}

/** What an autofocus ended with: best focus with its uncertainty, or an honest refusal. */
export type AutofocusResult = FocusFound | FocusRefused;

export interface FocusFound extends FocusSearchSeen {
  kind: 'found';
  /** Command at which the region is sharpest. */
  focalPowerDpt: number;
  focalPowerStdDpt: number;
  /** Side from which the lens came to it. */
  approachedFrom: 'below' | 'above';
  /** Half-width of the depth of field: MTF at 0.25 cycles per pixel at 80 % of its value in focus. null: not known. */
  halfWidthDpt: number | null;
  /** Probability that best focus lies within half of `halfWidthDpt`; null: the method states none. */
  probabilityInFocus: number | null;
  /** null: no frame was taken to confirm. */
  confirmation: FocusConfirmation | null;
  /** Absent: the optics were known, or the frames did not tell them. */
  learnedBlur?: LearnedBlur;
}

export interface FocusRefused extends FocusSearchSeen {
  kind: 'refused';
  reason: FocusRefusalReason;
  message: string;
  remedy: string;
}
