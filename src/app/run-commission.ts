import type { CancelSignal } from '../base/index.js';
import { type Bench, recordRun } from '../devices/index.js';
import { recordingFile } from '../drivers/index.js';
import { runCommission } from '../procedures/index.js';
import type { RunObserver } from '../protocol/index.js';
import { handoverReportHtml } from '../report/index.js';
import type { CommissionRecord, PlanRecord } from '../station/index.js';
import { createHandoverFolder, type HandoverFolder } from '../store/index.js';
import type { AskForTarget } from './asked-stage.js';
import { framePictures } from './frame-pictures.js';
import type { LoadedStation } from './load-station.js';
import { openBench } from './open-bench.js';
import { runPlan, runSharpness } from './run-plan.js';
import { softwareVersion } from './version.js';

/** What a commissioning run needs. */
export interface CommissionRequest {
  loaded: Pick<LoadedStation, 'station' | 'yaml' | 'sha256'>;
  /** As `cameraAddresses` tells. */
  cameraAddress: string;
  /** Handover folder to create. */
  outFolder: string;
  /** Seed of the simulated station; default: the station file's. */
  seed?: number;
  /** Asks a person to place the target, where the bench is a real one. */
  ask?: AskForTarget;
  observer: RunObserver;
  signal: CancelSignal;
}

/** The record and where its handover folder lies. */
export interface CommissionOutcome {
  record: CommissionRecord;
  folder: string;
  reportFile: string;
}

/**
 * Runs the whole commissioning on one bench and writes the handover folder: report.html, results.json, plan.json,
 * station.yaml, frames/ as TIFF with frames.csv, SHA256SUMS.
 *
 * Model    a cancelled or failed run still writes what was measured; a run that could not begin leaves nothing behind.
 * Throws   what `openBench` throws, `output-exists`, `output-not-writable`; and an error in the program that ended the run,
 *          once the handover is written.
 */
export async function commissionStation(request: CommissionRequest): Promise<CommissionOutcome> {
  const { loaded, cameraAddress, outFolder, observer, signal } = request;
  const seed = request.seed ?? loaded.station.rehearsal.seed;
  const plan = runPlan(loaded);
  const bench = await openBench(cameraAddress, {
    station: loaded.station,
    seed,
    ask: request.ask,
    onLink: (message) => observer({ type: 'notice', message }),
    signal,
  });
  try {
    const folder = await createHandoverFolder(outFolder);
    const recorded = recordRun({ bench, evidence: folder });
    try {
      const { record, defect } = await runCommission({
        station: loaded.station,
        stationSha256: loaded.sha256,
        planned: plan.ledger,
        startedOn: new Date().toISOString(),
        bench: { camera: recorded.bench.camera, stage: notingStage(recorded.bench, folder) },
        evidence: recorded.evidence,
        observer,
        signal,
        softwareVersion,
        seed: cameraAddress === 'simulated' ? seed : null,
      });
      await folder.keepText(recordingFile, `${JSON.stringify(recorded.recording)}\n`);
      await writeHandover(folder, { record, plan, loaded });
      if (defect) throw defect.error;
      return { record, folder: folder.path, reportFile: `${folder.path}/report.html` };
    } catch (error) {
      // What was kept gets its table and hashes, whatever went wrong; the first error is the one to tell.
      await folder.end().catch(() => {});
      throw error;
    }
  } finally {
    await bench.camera.close();
  }
}

async function writeHandover(
  folder: HandoverFolder,
  { record, plan, loaded }: { record: CommissionRecord; plan: PlanRecord; loaded: CommissionRequest['loaded'] },
): Promise<void> {
  await folder.keepText('results.json', `${JSON.stringify(record, null, 1)}\n`);
  const pictures = await framePictures(folder.path, record);
  const generatedOn = new Date().toISOString().slice(0, 10);
  await folder.keepText('plan.json', `${JSON.stringify(plan, null, 1)}\n`);
  await folder.keepText('station.yaml', loaded.yaml);
  await folder.keepText(
    'report.html',
    handoverReportHtml({
      commission: record,
      plan,
      sharpness: runSharpness(loaded),
      station: loaded.station,
      stationYaml: loaded.yaml,
      generatedOn,
      pictures,
    }),
  );
  await folder.end();
}

/** The bench's stage, which tells the folder at what distance the next frames are taken. */
function notingStage({ stage }: Bench, folder: HandoverFolder): Bench['stage'] {
  return {
    distancesMm: stage.distancesMm,
    async placeTarget(request) {
      const workingDistanceMm = await stage.placeTarget(request);
      folder.atDistance(workingDistanceMm);
      return workingDistanceMm;
    },
  };
}
