import type { AutofocusResult } from './autofocus-result.js';

/** Where best focus of a part was expected before it was looked at, 1σ. */
export interface PartExpectation {
  focalPowerDpt: number;
  focalPowerStdDpt: number;
  /** `distance`: from the part's distance, by a calibration or the station's model; `last-part`: like the one before. */
  from: 'distance' | 'last-part';
}

/** One part of a run of parts, and what the search for its focus ended with. */
export interface FocusedPart {
  kind: 'part';
  /** Counted from 1. */
  number: number;
  /** When the trigger came, on the camera's clock. */
  arrivedAtMs: number;
  /** As told by whoever sent the part; null: not told. */
  workingDistanceMm: number | null;
  expected: PartExpectation | null;
  /** Found less expected; null: refused, or nothing was expected. */
  offExpectedDpt: number | null;
  result: AutofocusResult;
}

/** How the found powers change from one part to the next: off the expectation by distance where distances are told, else as they are. */
export interface PartsDrift {
  changeDpt: number;
  changeStdDpt: number;
}

/** A run of parts that has ended. */
export interface PartsSummary {
  kind: 'parts';
  /** `device`: several parts in turn were refused because lens or camera did not follow. */
  state: 'complete' | 'cancelled' | 'device';
  partCount: number;
  foundCount: number;
  refusedCount: number;
  /** Of the parts that were found; null: none was. */
  medianFrameCount: number | null;
  ninetyFifthFrameCount: number | null;
  timeMedianMs: number | null;
  timeNinetyFifthMs: number | null;
  /** null: fewer than three parts were found. */
  drift: PartsDrift | null;
}
