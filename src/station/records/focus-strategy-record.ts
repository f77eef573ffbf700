import type { LedgerRow } from '../../base/index.js';
import type { FocusMethodName } from './autofocus-result.js';

/** What the best estimator could do at one level of light. */
export interface FocusAtLight {
  /** Mean grey value of the task's texture above black, in levels of 8 bit. */
  meanLevelDn: number;
  /** Cramér–Rao bound of three probes, 1σ. */
  boundStdDpt: number;
  /** The same with repeatability and control step of the last move. */
  finalStdDpt: number;
  /** Probability that the lens ends inside the depth of field. */
  insideProbability: number;
}

/** Autofocus as predicted where it is hardest, over the light. */
export interface FocusStrategyPrediction {
  plane: string;
  workingDistanceMm: number;
  regionPx: number;
  halfWidthDpt: number;
  /** Mean grey value that the station's own light and exposure give. */
  ownLevelDn: number;
  /** At the station's own light. */
  own: FocusAtLight;
  /** Three probes and a confirming frame; null where the lens never settles. */
  timeMs: number | null;
  byLight: FocusAtLight[];
  limitedBy: 'noise' | 'repeatability' | 'control-step';
}

/** Share of scenes at one level of light in which a method was right. */
export interface FocusShareAtLight {
  meanLevelDn: number;
  sceneCount: number;
  rightCount: number;
}

/** How a method did on the simulated station. */
export interface FocusMethodScore {
  method: FocusMethodName;
  sceneCount: number;
  /** The lens ended within half of the depth-of-field half-width of best focus. */
  rightCount: number;
  refusedCount: number;
  medianFrameCount: number;
  ninetyFifthFrameCount: number;
  timeMedianMs: number;
  timeNinetyFifthMs: number;
  byLight: FocusShareAtLight[];
}

/** Which search for focus suits a station: predicted, and tried on the simulated station. */
export interface FocusStrategyRecord {
  kind: 'focus-strategy';
  station: string;
  invented: boolean;
  stationSha256: string;
  softwareVersion: string;
  seed: number;
  sceneCount: number;
  /** null: no plane of the task can be focused. */
  prediction: FocusStrategyPrediction | null;
  /** Empty where no scenes were asked for. */
  methods: FocusMethodScore[];
  ledger: LedgerRow[];
}
