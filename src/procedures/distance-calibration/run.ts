import type { FocusMeasure } from '../../image/index.js';
import type { AutofocusRecord, CalibrationRecord } from '../../station/index.js';
import { runAutofocus } from '../autofocus/run.js';
import type { Run } from '../run-context.js';
import { expectedFocus } from './expectation.js';
import { fitDistanceCalibration } from './fit.js';
import { observationsOf } from './observation.js';

/**
 * Learns which focal power focuses which distance: autofocus at each, then the fit.
 *
 * Model    what the run has found so far, also before, narrows where to look next and goes into the fit. Three refusals in
 *          a row for the same reason end it: more distances would bring the same.
 * Returns  the fitted calibration, or a refusal with its reason; the autofocus results stand in the run's journal.
 * Throws   `cancelled`, `target-not-placeable`, `lens-not-moving`, or what the bench throws.
 */
export async function runDistanceCalibration(
  run: Run,
  {
    distancesMm,
    measure,
    onProgress,
  }: {
    distancesMm: readonly number[];
    measure?: FocusMeasure;
    /** Called before each distance, with the number of distances done. */
    onProgress?: (done: number, workingDistanceMm: number) => void;
  },
): Promise<CalibrationRecord> {
  const { station, journal, signal } = run;
  let done = 0;
  for (const wantedMm of distancesMm) {
    onProgress?.(done++, wantedMm);
    const workingDistanceMm = await run.bench.stage.placeTarget({ workingDistanceMm: wantedMm, signal });
    const expected = expectedFocus(station, journal.autofocus, workingDistanceMm);
    await runAutofocus(run, { workingDistanceMm, expected, ...(measure && { measure }) });
    if (isHopeless(journal.autofocus)) break;
  }
  const calibration = fitDistanceCalibration({ station, observations: observationsOf(journal.autofocus) });
  if (calibration.kind === 'fitted') {
    const { residualRmsDpt, explanation } = calibration;
    run.observer({ type: 'calibration-fitted', residualRmsDpt, explanation });
  }
  return calibration;
}

function isHopeless(results: readonly AutofocusRecord[]): boolean {
  const reasons = results.slice(-3).map((result) => (result.kind === 'refused' ? result.reason : null));
  return reasons.length === 3 && reasons[0] !== null && reasons.every((reason) => reason === reasons[0]);
}
