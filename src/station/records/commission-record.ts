import type { Estimate, LedgerRow, Provenance, Verdict } from '../../base/index.js';

/** One point of a through-focus sweep. */
export interface SweepPoint {
  focalPowerDpt: number;
  /** Focus measure, and its standard uncertainty from the sensor's noise. */
  measure: number;
  measureStd: number | null;
  meanGreyDn: number;
  temperatureDegC: number | null;
  /** Name of the stored frame in the evidence folder. */
  frame: string;
}

/** A sweep over focal power at one target distance. */
export interface SweepRecord {
  workingDistanceMm: number;
  measure: string;
  region: { xPx: number; yPx: number; widthPx: number; heightPx: number };
  points: SweepPoint[];
}

/** Autofocus at one distance: a found best focus, or an honest refusal. */
export type AutofocusRecord =
  | {
      kind: 'found';
      workingDistanceMm: number;
      focalPowerDpt: number;
      focalPowerStdDpt: number;
      frames: number;
      elapsedMs: number;
      temperatureDegC: number | null;
      sweep: SweepRecord;
    }
  | {
      kind: 'refused';
      workingDistanceMm: number;
      reason: string;
      message: string;
      remedy: string;
      frames: number;
      elapsedMs: number;
      sweep: SweepRecord;
    };

/** One point of the distance calibration beside what was predicted and what the fitted model says. */
export interface CalibrationPoint {
  workingDistanceMm: number;
  measuredDpt: Estimate;
  predictedDpt: number;
  fittedDpt: number;
  residualDpt: number;
  temperatureDegC: number | null;
}

/** A parameter of the physical model: what the tolerances allowed before, what the fit found. */
export interface FittedParameter {
  /** e.g. `powerOffsetDpt`, `powerGain`, `ringDistanceRelative`, `spacerMm`. */
  name: string;
  unit: string;
  title: string;
  prior: Estimate;
  fitted: Estimate;
}

/** Focal power ↔ working distance as learned on the bench. */
export type CalibrationRecord =
  | {
      kind: 'fitted';
      points: CalibrationPoint[];
      parameters: FittedParameter[];
      /** Of the fitted parameters, row by row in their order and units; absent in records that did not keep it. */
      covariance?: number[][];
      residualRmsDpt: number;
      /** Chi-square of the points per degree of freedom that the fit leaves them; far above 1: the model or the uncertainties are wrong. */
      reducedChiSquare: number;
      /** Prediction over the range: power, and half-width of the 95 % prediction interval. */
      curve: { workingDistanceMm: number; focalPowerDpt: number; predicted95Dpt: number }[];
      referenceTemperatureDegC: number;
      /** The build error that explains the difference from the prediction best, in words. */
      explanation: string;
    }
  | { kind: 'refused'; reason: string; message: string; remedy: string; points: CalibrationPoint[] };

/** Edge response at one distance beside its prediction. */
export interface ResolutionReading {
  name: 'near' | 'middle' | 'far';
  workingDistanceMm: number;
  focalPowerDpt: number;
  frame: string;
  result:
    | {
        kind: 'measured';
        orientation: 'near-vertical' | 'near-horizontal';
        edgeAngleDeg: number;
        region: { xPx: number; yPx: number; widthPx: number; heightPx: number };
        mtf: { frequencyPerPx: number; value: number; std: number }[];
        predictedMtf: { frequencyPerPx: number; value: number }[];
        edgeSpread: { positionPx: number; value: number }[];
        mtf50PerPx: Estimate | null;
        predictedMtf50PerPx: number | null;
        mtfAtTask: Estimate;
        predictedMtfAtTask: number;
        taskFrequencyPerPx: number;
      }
    | { kind: 'refused'; reason: string; remedy: string };
}

/** A stored frame and its hash. */
export interface EvidenceFrame {
  file: string;
  sha256: string;
  focalPowerDpt: number;
  workingDistanceMm: number;
  /** null: a recording that does not tell it. */
  exposureMs: number | null;
  temperatureDegC: number | null;
  purpose: 'identify' | 'sweep' | 'resolution';
}

/** Stands for the measured number of a requirement that a commissioning does not measure: it rests on prediction alone. */
export const notMeasured = 'not measured';

/** All that a commissioning run found. Written as results.json; enough, with the frames, to compute it again. */
export interface CommissionRecord {
  kind: 'commission';
  /** Version of this form; raised when a reader of the old one would go wrong. */
  format: 1;
  /** Date and time the run began, ISO 8601 in UTC. */
  startedOn: string;
  station: string;
  invented: boolean;
  /** `complete`, `cancelled` or `failed`: what was measured until then is kept. */
  state: 'complete' | 'cancelled' | 'failed';
  /** Why it ended early; null when complete. */
  stateReason: string | null;
  /** true for `sim:`: these numbers are simulated, for ever. */
  simulated: boolean;
  device: { id: string; model: string; lensModel: string };
  verdict: Verdict;
  ledger: LedgerRow[];
  autofocus: AutofocusRecord[];
  calibration: CalibrationRecord | null;
  resolution: ResolutionReading[];
  frames: EvidenceFrame[];
  cautions: string[];
  provenance: Provenance;
  /** Time on the camera's clock; virtual for a simulated station. */
  elapsedMs: number;
}
