import type { GreyImage, Region } from '../../image/index.js';
import type {
  FocusConfirmation,
  FocusMethodName,
  FocusPosterior,
  FocusProbe,
  FocusRefusalReason,
  LearnedBlur,
} from '../../station/index.js';
import type { LensMoves } from './lens-play.js';

/** One frame as a search sees it. */
export interface FocusView {
  image: GreyImage;
  /** The power commanded for it. */
  commandedDpt: number;
  /** Powers in the middles of equal parts of the exposure, by the lens's response; one value for a lens at rest. */
  powersDpt: readonly number[];
  /** Side from which the lens came to its power; null: not known. */
  cameFrom: 'below' | 'above' | null;
  /** How it was moved since the search began, detours included. */
  moves: LensMoves;
  /** Running number from the device. */
  frameId: number;
  exposedAtMs: number;
}

/** Where a search may look. */
export interface FocusLimits {
  powerMinDpt: number;
  powerMaxDpt: number;
  /** The only powers there are (recorded frames), increasing; null: any inside the limits. */
  powersDpt: readonly number[] | null;
}

/** What a search was told before its first frame. */
export interface FocusTask {
  region: Region;
  limits: FocusLimits;
  /** Where the lens stands; null: not known. */
  startDpt: number | null;
  /** Where best focus is expected, 1σ; null: anywhere alike. Saves frames; a wrong one gives way to what the frames show. */
  expected: { focalPowerDpt: number; focalPowerStdDpt: number } | null;
  /** Full width of the lens's hysteresis, as far as known; 0: none, or not known. */
  hysteresisDpt: number;
  /** Whether the lens's response is known, its hysteresis with it: it then returns to a power where it stood. */
  isResponseKnown: boolean;
  /** How long a move takes until its frame is exposed and read, by the lens's response; a search may weigh it. */
  moveMs: (move: { fromDpt: number | null; toDpt: number }) => number;
}

/** What a search wants next. */
export type FocusStep =
  | {
      kind: 'look';
      focalPowerDpt: number;
      role: FocusProbe['role'];
      /** The power is to be reached from this side, beyond the hysteresis; null: straight from where the lens stands. */
      approachFrom: 'below' | 'above' | null;
      /** The lens may still be this far from its power, as long as its response tells where it is; absent: what the response says. */
      toleranceDpt?: number;
    }
  | {
      kind: 'found';
      focalPowerDpt: number;
      /** Side that the power is to be reached from; absent: any. */
      approachFrom?: 'below' | 'above' | null;
      focalPowerStdDpt: number;
      halfWidthDpt: number | null;
      probabilityInFocus: number | null;
      confirmation: FocusConfirmation | null;
    }
  | { kind: 'refused'; reason: FocusRefusalReason; message: string; remedy?: string };

/**
 * A search under way: what has been seen → what next. It moves and grabs nothing, has no clock and no chance in it, so the
 * same frames lead to the same answer.
 */
export interface FocusSearch {
  /** The first power to look at, or a refusal of the task itself. */
  begin(): FocusStep;
  /** Takes in the frame that was asked for. */
  next(view: FocusView): FocusStep;
  /** Frames taken in, in order. */
  readonly probes: readonly FocusProbe[];
  /** null: none yet, or the method has none. */
  readonly posterior: FocusPosterior | null;
  /** What the frames of a search that has found focus tell of the optics; absent or null: nothing, or they were known. */
  readonly learnedBlur?: LearnedBlur | null;
}

/** A way to look for focus. */
export interface FocusMethod {
  readonly name: FocusMethodName;
  start(task: FocusTask): FocusSearch;
}
