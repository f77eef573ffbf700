import { type CancelSignal, FocuswrightError, type LedgerRow, worstVerdict } from '../../base/index.js';
import { type Bench, type CameraIdentity, type EvidenceSink, withParkedLens } from '../../devices/index.js';
import type { FocusMeasure } from '../../image/index.js';
import { type RunObserver, type RunStep, runSteps } from '../../protocol/index.js';
import { type CalibrationRecord, type CommissionRecord, middleDistanceMm, type Station } from '../../station/index.js';
import { runAutofocus } from '../autofocus/run.js';
import { runDistanceCalibration } from '../distance-calibration/run.js';
import { nearestDistanceMm, targetDistancesMm } from '../distance-calibration/target-distances.js';
import { runResolutionCheck } from '../resolution-check/run.js';
import { beginRun, type Run, type RunJournal } from '../run-context.js';
import { settleFraction } from '../sweep/run.js';
import { adjustExposure } from './adjust-exposure.js';
import { commissionCautions } from './cautions.js';
import { commissionLedger } from './ledger.js';
import { checkSettling, type SettlingFinding } from './settling-check.js';

/** What a commissioning needs. */
export interface CommissionParts {
  station: Station;
  /** SHA-256 of the station's text: the input hash of the record. */
  stationSha256: string;
  /** Ledger of the plan: what the bench does not measure stands in the record as predicted. */
  planned: readonly LedgerRow[];
  /** Date and time of the start, ISO 8601 in UTC. */
  startedOn: string;
  bench: Bench;
  evidence: EvidenceSink;
  observer: RunObserver;
  signal: CancelSignal;
  softwareVersion: string;
  /** Seed of the simulated station; null where nothing is drawn. */
  seed: number | null;
  /** Focus measure of the sweeps; default: tenengrad. */
  measure?: FocusMeasure;
}

/** A record, and the error in the program that ended its run; null where there was none. */
export interface CommissionResult {
  record: CommissionRecord;
  defect: { error: unknown } | null;
}

/** What a run has found so far; filled step by step. */
interface Found {
  device: CameraIdentity;
  journal: RunJournal;
  calibration: CalibrationRecord | null;
  exposureMs: number | null;
  recorded: boolean;
  settling: SettlingFinding | null;
}

/**
 * Commissions a station: identify, one sweep over the whole lens range with a check of settling, distance calibration,
 * resolution check.
 *
 * Model    the lens is guarded by the station's limits and parked on every way out. Measured numbers stand beside the
 *          predicted ones in the ledger.
 * Returns  the record; with state `cancelled` or `failed` and all that was measured until then, when the signal is set, the
 *          bench fails or the program does. An error in the program stands beside it: write the record, then throw it on.
 * Checked  recovery on the simulated station and on recorded frames; cancel and faults: tests/procedures/commission.test.ts
 */
export async function runCommission(parts: CommissionParts): Promise<CommissionResult> {
  const { station, bench, observer } = parts;
  const startMs = bench.camera.clock.nowMs();
  const found: Found = {
    device: { id: bench.camera.id, model: '', lensModel: '' },
    journal: { frames: [], autofocus: [], resolution: [] },
    calibration: null,
    exposureMs: null,
    recorded: false,
    settling: null,
  };
  const { defect, ...ended } = await withParkedLens(bench.camera, () => endOf(() => runSteppedThrough(parts, found)));
  const { journal, calibration, exposureMs, recorded, settling, device } = found;
  const ledger = commissionLedger(
    { station, complete: ended.state === 'complete', ...journal, calibration, exposureMs, recorded, settling },
    parts.planned,
  );
  const { simulated } = bench.camera;
  const record: CommissionRecord = {
    kind: 'commission',
    format: 1,
    startedOn: parts.startedOn,
    station: station.station,
    invented: station.invented,
    ...ended,
    simulated,
    device,
    verdict: worstVerdict(ledger.map((row) => row.verdict)),
    ledger,
    autofocus: journal.autofocus,
    calibration,
    resolution: journal.resolution,
    frames: journal.frames,
    cautions: commissionCautions({ station, simulated }),
    provenance: {
      procedure: 'commission',
      parameters: {
        measure: parts.measure ?? defaultMeasure,
        region: 'middle half of the frame each way',
        approachFrom: station.controls.approachFrom,
        exposureMs,
        settleFraction,
        targetDistancesMm: targetDistancesMm(station, bench.stage),
      },
      inputHashes: { station: parts.stationSha256 },
      device: bench.camera.id,
      seed: parts.seed,
      softwareVersion: parts.softwareVersion,
    },
    elapsedMs: bench.camera.clock.nowMs() - startMs,
  };
  const message = record.stateReason ?? `Verdict: ${record.verdict}`;
  observer({ type: 'finished', state: record.state, verdict: record.verdict, reportUrl: null, message });
  return { record, defect };
}

const defaultMeasure: FocusMeasure = 'tenengrad';

/** How the work ended: trouble in the world and errors in the program both become a state, and nothing measured is lost. */
async function endOf(
  work: () => Promise<void>,
): Promise<Pick<CommissionRecord, 'state' | 'stateReason'> & Pick<CommissionResult, 'defect'>> {
  try {
    await work();
    return { state: 'complete', stateReason: null, defect: null };
  } catch (error) {
    if (!(error instanceof FocuswrightError)) {
      const message = error instanceof Error ? error.message : String(error);
      return {
        state: 'failed',
        stateReason: `An error in the program ended the run: ${fullStop(message)}`,
        defect: { error },
      };
    }
    return {
      state: error.code === 'cancelled' ? 'cancelled' : 'failed',
      stateReason: `${fullStop(error.message)} ${error.remedy}`,
      defect: null,
    };
  }
}

/** Ends a sentence that has no end. */
const fullStop = (text: string): string => (/[.!?…]$/.test(text) ? text : `${text}.`);

async function runSteppedThrough(parts: CommissionParts, found: Found): Promise<void> {
  const { station, bench, observer, measure = defaultMeasure } = parts;
  const begin = (step: RunStep, title: string) =>
    observer({ type: 'step-started', step, title, done: runSteps.indexOf(step), total: runSteps.length });
  const progress = (step: RunStep, total: number) => (done: number, message: string) =>
    observer({ type: 'progress', step, done, total, message });

  begin('identify', 'Identify camera and lens, set the exposure');
  found.device = await bench.camera.identify();
  const run: Run = { ...(await beginRun(parts)), journal: found.journal };
  found.recorded = (await bench.camera.capabilities()).powersDpt !== null;
  const distancesMm = targetDistancesMm(station, bench.stage);
  const middleMm = nearestDistanceMm(distancesMm, middleDistanceMm(station));
  const placedMm = await bench.stage.placeTarget({ workingDistanceMm: middleMm, signal: parts.signal });
  found.exposureMs = await adjustExposure(run, { workingDistanceMm: placedMm });

  begin('sweep', `Sweep over the whole lens range at ${placedMm.toFixed(1)} mm`);
  const focus = await runAutofocus(run, { workingDistanceMm: placedMm, expected: null, measure });
  found.settling = await checkSettling(run, { focus, measure });

  begin('distance-calibration', `Find best focus at ${distancesMm.length - 1} more distances`);
  const others = distancesMm.filter((distanceMm) => distanceMm !== middleMm);
  const calibrating = progress('distance-calibration', others.length);
  found.calibration = await runDistanceCalibration(run, {
    distancesMm: others,
    measure,
    onProgress: (done, mm) => calibrating(done, `target at ${mm.toFixed(1)} mm`),
  });

  begin('resolution-check', 'Measure an edge at near, middle and far');
  const checking = progress('resolution-check', 3);
  await runResolutionCheck(run, {
    calibration: found.calibration,
    onProgress: (done, { name, workingDistanceMm }) => checking(done, `${name}, ${workingDistanceMm.toFixed(1)} mm`),
  });
}
