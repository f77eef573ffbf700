/** The steps of a commissioning run, in order. */
export const runSteps = ['identify', 'sweep', 'distance-calibration', 'resolution-check', 'handover'] as const;
export type RunStep = (typeof runSteps)[number];

/** What a running procedure tells while it works; the same on stderr and on the wire. */
export type RunEvent =
  | { type: 'step-started'; step: RunStep; title: string; done: number; total: number }
  | { type: 'progress'; step: RunStep; done: number; total: number; message: string }
  /** Something to know that ends nothing, such as a link that was lost and found. */
  | { type: 'notice'; message: string }
  | {
      type: 'sweep-point';
      /** Name of the focus measure. */
      measureName: string;
      workingDistanceMm: number;
      focalPowerDpt: number;
      measure: number;
      measureStd: number | null;
      predictedBestDpt: number;
    }
  | {
      type: 'focus-found';
      workingDistanceMm: number;
      focalPowerDpt: number;
      focalPowerStdDpt: number;
      /** Of the lens, mean over the sweep; null where it has no thermometer. */
      temperatureDegC: number | null;
      /** At the reference temperature of the lens. */
      predictedDpt: number;
    }
  | { type: 'focus-refused'; workingDistanceMm: number; reason: string; remedy: string }
  | { type: 'calibration-fitted'; residualRmsDpt: number; explanation: string }
  | {
      type: 'resolution-read';
      name: string;
      workingDistanceMm: number;
      mtfAtTask: number | null;
      predictedMtfAtTask: number | null;
      message: string;
    }
  | {
      type: 'finished';
      state: 'complete' | 'cancelled' | 'failed';
      verdict: string;
      reportUrl: string | null;
      message: string;
    };

/** Receives the events; must not throw. */
export type RunObserver = (event: RunEvent) => void;
