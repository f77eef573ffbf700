import type { CameraIdentity } from '../devices/index.js';
import type { FocusMeasure, Region } from '../image/index.js';
import { type RegionChoice, runFocusRegions, type SweepFit } from '../procedures/index.js';
import type { AutofocusResult, FocusMethodName, FocusProbe } from '../station/index.js';
import { type FocusBenchRequest, openFocusBench } from './focus-bench.js';
import { type BlurReport, learningMethodOf } from './focus-method.js';
import { type FocusRecorder, focusRecorder } from './focus-recorder.js';
import { type RegionOrigin, regionsToFocus } from './focus-region.js';
import { softwareVersion } from './version.js';

/** What an autofocus needs. */
export interface AutofocusRequest extends FocusBenchRequest {
  method: FocusMethodName;
  /** `texture`: where two frames show most. */
  regions: readonly Region[] | 'middle' | 'texture';
  choice: RegionChoice;
  /** Of the classic searches. */
  measure?: FocusMeasure;
  fit?: SweepFit;
  /** Distance to bring the target to first (simulated, recorded); null: where it stands. */
  workingDistanceMm: number | null;
  park: boolean;
  /** Forget first what earlier runs have learned of this camera's blur. */
  forgetLearned?: boolean;
  /** Folder to record the search in; it must be new or empty. What earlier runs have learned is then left aside. */
  recordFolder?: string;
  /** Told after every frame. */
  onFrame?: (probe: FocusProbe) => void;
}

/** What an autofocus ended with, and on what. */
export interface AutofocusReport {
  camera: CameraIdentity;
  simulated: boolean;
  station: string | null;
  stationSha256: string | null;
  choice: RegionChoice;
  chosenIndex: number | null;
  /** How the regions of `results` came about. */
  region: RegionOrigin;
  /** null: the optics were known, or the way to look has no use for them. */
  blur: BlurReport | null;
  results: AutofocusResult[];
  /** Where the lens was left, as read back. */
  lensDpt: number;
  parked: boolean;
  /** Folder in which the search was recorded; null: it was not. */
  recordedIn: string | null;
  softwareVersion: string;
}

/**
 * Finds best focus on a camera. The lens stays at the found power unless it is to be parked; after a refusal, an error or a
 * cancel it is parked.
 *
 * Throws   `region-outside-frame`, `region-too-small`, `lens-power-out-of-range`, `output-exists`, `output-not-writable`, what openBench
 *          throws, `cancelled`. Then the lens is parked; what was recorded until then is kept.
 */
export async function runAutofocusOn(request: AutofocusRequest): Promise<AutofocusReport> {
  const { recordFolder } = request;
  if (recordFolder === undefined) return searchOn(request, null);
  const recorder = await focusRecorder(recordFolder);
  let report: AutofocusReport | null = null;
  try {
    report = await searchOn(request, recorder);
    return report;
  } finally {
    await recorder.end(report);
  }
}

async function searchOn(request: AutofocusRequest, recorder: FocusRecorder | null): Promise<AutofocusReport> {
  const { loaded, signal, workingDistanceMm } = request;
  const { device, camera, stage, response } = await openFocusBench({
    ...request,
    ...(recorder && { wrap: recorder.wrap }),
  });
  let keepPower = false;
  try {
    if (workingDistanceMm !== null) await stage.placeTarget({ workingDistanceMm, signal });
    const { regions, origin } = await regionsToFocus({
      wanted: request.regions,
      method: request.method,
      camera,
      response,
      signal,
    });
    const identity = await device.identify();
    const { method, keep } = await learningMethodOf(request.method, {
      camera: identity,
      station: loaded?.station ?? null,
      ...(request.measure && { measure: request.measure }),
      ...(request.fit && { fit: request.fit }),
      ...(request.forgetLearned && { forgetFirst: true }),
      mayLearn: recorder === null && !request.cameraAddress.startsWith('replay:'),
    });
    const { results, choice, chosenIndex } = await runFocusRegions({
      camera,
      method,
      regions,
      choice: request.choice,
      response,
      park: request.park,
      signal,
      onProgress: ({ probes }) => {
        const last = probes.at(-1);
        if (last) request.onFrame?.(last);
      },
    });
    const parked = chosenIndex === null || request.park;
    const { focalPowerDpt: lensDpt } = await device.lensStatus();
    keepPower = !parked;
    return {
      camera: identity,
      simulated: device.simulated,
      station: loaded?.station.station ?? null,
      stationSha256: loaded?.sha256 ?? null,
      choice,
      chosenIndex,
      region: origin,
      blur: await keep(),
      results,
      lensDpt,
      parked,
      recordedIn: recorder?.folder ?? null,
      softwareVersion,
    };
  } finally {
    await device.close({ keepPower });
  }
}
