import type { LedgerRow, Verdict } from '../../base/index.js';
import type { AutofocusPrediction } from './autofocus-prediction.js';
import type { LightPlan } from './light-plan.js';
import type { TimingPlan } from './timing-plan.js';

/** Depth of field by one named criterion. */
export interface DepthOfFieldRecord {
  criterion: 'blur-disc' | 'quarter-wave' | 'task-contrast';
  nearMm: number;
  /** null: sharp to infinity. */
  farMm: number | null;
  /** null where farMm is infinite. */
  totalMm: number | null;
  /** Power change from best focus until the object is at the near limit, and at the far limit. */
  nearHalfWidthDpt: number;
  farHalfWidthDpt: number;
}

/** A pupil of the whole system. */
export interface PupilRecord {
  diameterMm: number;
  /** Entrance pupil: behind the mechanical front. Exit pupil: before the sensor. A pupil at infinity: a very large distance. */
  positionMm: number;
}

/** What the layout does with the object at one distance. */
export interface PlanePrediction {
  /** `near`, `middle`, `far` or `plane-1` … */
  name: string;
  workingDistanceMm: number;
  /** Power that focuses this distance; null where no power inside the station's limits does. */
  focalPowerDpt: number | null;
  /** Power that would focus it, inside the limits or not; null where none does. The values below hold at this power. */
  neededPowerDpt: number | null;
  /** Absolute value of the lateral magnification. */
  magnification: number;
  fieldWidthMm: number;
  fieldHeightMm: number;
  workingFNumber: number;
  objectNumericalAperture: number;
  /** Of the whole system; null where no power focuses the plane. */
  pupils: { entrance: PupilRecord; exit: PupilRecord } | null;
  /** Which aperture limits the cone: the fixed lens's own stop or the tunable lens's clear aperture. */
  limitingStop: 'fixed-lens' | 'tunable-lens';
  /** Total depth of field by task contrast; 0 where the contrast is not reached even in focus, null to infinity. */
  depthOfFieldMm: number | null;
  /** By three criteria; null where nothing is sharp by it, or where sharpness begins at the front of the optics. */
  depthOfField: {
    blurDisc: DepthOfFieldRecord | null;
    quarterWave: DepthOfFieldRecord | null;
    taskContrast: DepthOfFieldRecord | null;
  };
  /** The task frequency as it lies on the sensor. */
  taskFrequencyPerMm: number;
  taskFrequencyPerPx: number;
  /** MTF at the task frequency, in focus, on the axis. */
  mtfAtTask: number;
  /** Its parts, which multiply to mtfAtTask. */
  mtfParts: {
    diffraction: number;
    colour: number;
    coma: number;
    wavefrontError: number;
    pixel: number;
    motion: number;
  };
  /** MTF at the task frequency in the sensor's corner, in focus, for the worse of both directions of lines. */
  cornerMtfAtTask: number;
  /** Smallest width of line and gap, on the object and the axis, whose contrast meets the task's; null where none does. */
  finestFeatureMm: number | null;
  /** Mean grey value of a white target and signal-to-noise ratio at the task's contrast. */
  meanGreyDn: number;
  signalToNoise: number;
}

/** One contribution to the focus budget at a plane. */
export interface BudgetTerm {
  name: 'control-step' | 'repeatability' | 'hysteresis' | 'temperature' | 'calibration';
  /** Standard deviation: these add as a root sum of squares. */
  valueDpt: number;
  /** Largest value: these add in the worst case. */
  worstCaseDpt: number;
  note: string;
}

/** Depth of field against all that moves the focus. */
export interface FocusBudget {
  plane: string;
  /** How far the power may be off, by task contrast; 0 where the contrast is not reached. */
  allowedHalfWidthDpt: number;
  terms: BudgetTerm[];
  rootSumSquareDpt: number;
  worstCaseDpt: number;
  /** What to change first; null where nothing moves the focus. */
  firstChange: BudgetChange | null;
}

/** A change of one contribution, with what it leaves of all of them together. */
export interface BudgetChange {
  term: BudgetTerm['name'];
  /** What to do, in words. */
  change: string;
  rootSumSquareDpt: number;
}

/** The answer of `plan`. */
export interface PlanRecord {
  kind: 'plan';
  station: string;
  invented: boolean;
  stationSha256: string;
  softwareVersion: string;
  verdict: Verdict;
  /** The rows that are not `meets`, worst first; for `meets` the one row with the least margin. */
  reasons: { key: string; verdict: Verdict; reason: string; remedy: string | null }[];
  reach: {
    nearMm: number | null;
    /** null: beyond infinity or never; `farIsInfinite` tells which. */
    farMm: number | null;
    farIsInfinite: boolean;
    /** Share of the task's range, in vergence, that the lens covers. */
    coveredShare: number;
    powerMinDpt: number;
    powerMaxDpt: number;
  };
  planes: PlanePrediction[];
  budget: FocusBudget[];
  /** Planes needed to cover the whole task range with depth of field edge to edge. */
  planesToCover: number | null;
  /** Of the largest step between planes; null where the lens never settles. */
  settlingMs: number | null;
  /** All planes of one part: settling, exposure, readout; null where the lens never settles. */
  cycleMs: number | null;
  timing: TimingPlan;
  /** null where no plane can be focused. */
  light: LightPlan | null;
  /** null where no plane can be focused, or none has a depth of field. */
  autofocus: AutofocusPrediction | null;
  ledger: LedgerRow[];
  /** What was assumed because the station does not say it, with its effect. */
  assumptions: string[];
  /** Cautions that apply to this station (light, hot housing, moving machine …). */
  cautions: string[];
}
