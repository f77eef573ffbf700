import { FocuswrightError } from '../../base/index.js';
import type { FocusMeasure, Region } from '../../image/index.js';
import type { AutofocusRecord, SweepPoint } from '../../station/index.js';
import { focusHalfWidthDpt, requirePredictedPowerDpt } from '../focus-half-width.js';
import { overshootDpt } from '../move-lens.js';
import type { Run } from '../run-context.js';
import { planSweep } from '../sweep/plan.js';
import { centreHalf, runSweep, type SeenPoint } from '../sweep/run.js';
import { type FocusView, type FocusWindow, planAutofocus } from './plan.js';
import { type Refusal, refuse } from './refusals.js';

/** What autofocus is asked to do. */
export interface AutofocusRequest {
  /** Distance the target stands at. */
  workingDistanceMm: number;
  /** Where to look first; null: over the whole range of the lens. */
  expected: FocusView['expected'];
  /** Default: tenengrad. */
  measure?: FocusMeasure;
  /** Default: the middle half of the frame each way. */
  region?: Region;
}

/**
 * Finds best focus at the distance where the target stands, or says why not.
 *
 * Model    planAutofocus decides, this loop moves and grabs. The standard deviation adds the fit's, the lens's
 *          repeatability and its control step: what a later command of this power must reckon with.
 * Returns  the record, which also stands in the run's journal.
 * Throws   `cancelled`, `lens-not-moving`, or what the camera throws; the journal then holds the points seen so far as
 *          a refusal `interrupted`.
 * Checked  recovery: on the simulated station and on recorded frames, tests/procedures
 */
export async function runAutofocus(run: Run, request: AutofocusRequest): Promise<AutofocusRecord> {
  const { workingDistanceMm, expected, measure = 'tenengrad' } = request;
  const { camera } = run.bench;
  const startMs = camera.clock.nowMs();
  const available = await camera.capabilities();
  const region = request.region ?? centreHalf(available);
  const halfWidthDpt = focusHalfWidthDpt({ station: run.station, workingDistanceMm });
  const predictedBestDpt = requirePredictedPowerDpt({ station: run.station, workingDistanceMm });
  const { repeatabilityDpt } = run.station.parts.tunableLens;
  const points: SeenPoint[] = [];
  const windows: FocusWindow[] = [];

  const finish = (end: { kind: 'found'; focalPowerDpt: number; fitStdDpt: number } | Refusal): AutofocusRecord => {
    const shared = {
      workingDistanceMm,
      frames: points.length,
      elapsedMs: camera.clock.nowMs() - startMs,
      sweep: { workingDistanceMm, measure, region, points: inOrder(points) },
    };
    const record: AutofocusRecord =
      end.kind === 'refused'
        ? { ...shared, ...end }
        : {
            ...shared,
            kind: 'found',
            focalPowerDpt: end.focalPowerDpt,
            focalPowerStdDpt: recallStdDpt(run, end.fitStdDpt),
            temperatureDegC: meanTemperatureDegC(points),
          };
    run.journal.autofocus.push(record);
    tell(run, record, predictedBestDpt);
    return record;
  };

  try {
    for (;;) {
      const step = planAutofocus({ points, windows, available, halfWidthDpt, repeatabilityDpt, expected });
      if (step.kind !== 'sweep') return finish(step);
      windows.push(step.window);
      const { approachFrom } = run.station.controls;
      const plan = planSweep({ ...step.window, overshootDpt: overshootDpt(run.station), approachFrom, available });
      await runSweep(run, { workingDistanceMm, plan, halfWidthDpt, measure, region, predictedBestDpt, seen: points });
    }
  } catch (error) {
    if (error instanceof FocuswrightError && points.length > 0)
      finish({ ...refuse('interrupted', error.message), remedy: error.remedy });
    throw error;
  }
}

function recallStdDpt({ station }: Run, fitStdDpt: number): number {
  const { repeatabilityDpt, controlStepDpt } = station.parts.tunableLens;
  return Math.max(1e-6, Math.hypot(fitStdDpt, repeatabilityDpt, controlStepDpt / Math.sqrt(12)));
}

function meanTemperatureDegC(points: readonly SeenPoint[]): number | null {
  const readings = points.flatMap(({ temperatureDegC }) => (temperatureDegC === null ? [] : [temperatureDegC]));
  return readings.length === 0 ? null : readings.reduce((sum, t) => sum + t, 0) / readings.length;
}

/** By power, and only what the record holds. */
function inOrder(points: readonly SeenPoint[]): SweepPoint[] {
  return [...points]
    .sort((a, b) => a.focalPowerDpt - b.focalPowerDpt)
    .map(({ focalPowerDpt, measure, measureStd, meanGreyDn, temperatureDegC, frame }) => ({
      focalPowerDpt,
      measure,
      measureStd,
      meanGreyDn,
      temperatureDegC,
      frame,
    }));
}

function tell(run: Run, record: AutofocusRecord, predictedDpt: number): void {
  const { workingDistanceMm } = record;
  if (record.kind === 'found') {
    const { focalPowerDpt, focalPowerStdDpt, temperatureDegC } = record;
    run.observer({
      type: 'focus-found',
      workingDistanceMm,
      focalPowerDpt,
      focalPowerStdDpt,
      temperatureDegC,
      predictedDpt,
    });
  } else {
    const { message, remedy } = record;
    run.observer({ type: 'focus-refused', workingDistanceMm, reason: message.replace(/\.$/, ''), remedy });
  }
}
