import { type CancelSignal, FocuswrightError } from '../base/index.js';
import { type CameraIdentity, type FocusCamera, guardLens } from '../devices/index.js';
import type { FocusMeasure, Region } from '../image/index.js';
import {
  deviceLensResponse,
  type RegionChoice,
  runFocusRegions,
  type SweepFit,
  stationLensResponse,
} from '../procedures/index.js';
import { type AutofocusResult, type FocusMethodName, type FocusProbe, powerLimitsOf } from '../station/index.js';
import { focusMethodOf } from './focus-method.js';
import { type LoadedStation, loadStation } from './load-station.js';
import { openBench } from './open-bench.js';
import { softwareVersion } from './version.js';

/** What an autofocus needs. */
export interface AutofocusRequest {
  cameraAddress: string;
  /** null: nothing is known but what the device tells. */
  loaded: Pick<LoadedStation, 'station' | 'sha256'> | null;
  method: FocusMethodName;
  /** Empty: the middle of the frame. */
  regions: readonly Region[];
  choice: RegionChoice;
  /** Of the classic searches. */
  measure?: FocusMeasure;
  fit?: SweepFit;
  /** Powers to stay inside; null: the limits of lens and station. */
  powerRangeDpt: readonly [number, number] | null;
  /** Distance to bring the target to first (simulated, recorded); null: where it stands. */
  workingDistanceMm: number | null;
  /** Of the simulated station. */
  seed?: number;
  park: boolean;
  signal: CancelSignal;
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
  results: AutofocusResult[];
  /** Where the lens was left, as read back. */
  lensDpt: number;
  parked: boolean;
  softwareVersion: string;
}

/** Station whose world the simulated camera shows where none is given. */
const standInStation = 'glaze-line';
/** Smallest region, each way, that has spectrum enough to judge focus by. */
export const smallestAutofocusRegionPx = 32;

/**
 * Finds best focus on a camera. The lens stays at the found power unless it is to be parked; after a refusal, an error or a
 * cancel it is parked.
 *
 * Throws   `region-outside-frame`, `region-too-small`, `lens-power-out-of-range`, what openBench throws, `cancelled`.
 */
export async function runAutofocusOn(request: AutofocusRequest): Promise<AutofocusReport> {
  const { loaded, cameraAddress } = request;
  const known = loaded?.station ?? null;
  const world = known === null && cameraAddress === 'simulated' ? (await loadStation(standInStation)).station : known;
  const { seed = world?.rehearsal.seed } = request;
  const bench = await openBench(cameraAddress, {
    station: world,
    ...(seed !== undefined && { seed }),
    signal: request.signal,
  });
  const { camera: device, stage } = bench;
  let keepPower = false;
  try {
    const { workingDistanceMm, signal } = request;
    if (workingDistanceMm !== null) await stage.placeTarget({ workingDistanceMm, signal });
    const camera = await limited(device, request);
    const capabilities = await camera.capabilities();
    const regions = request.regions.length > 0 ? request.regions : [middleRegion(capabilities)];
    for (const region of regions) requireFocusRegion(region, capabilities);
    const { results, choice, chosenIndex } = await runFocusRegions({
      camera,
      method: focusMethodOf(request.method, {
        station: loaded?.station ?? null,
        ...(request.measure && { measure: request.measure }),
        ...(request.fit && { fit: request.fit }),
      }),
      regions,
      choice: request.choice,
      response: loaded ? stationLensResponse(loaded.station) : deviceLensResponse(capabilities),
      park: request.park,
      signal,
      onProgress: ({ probes }) => {
        const last = probes.at(-1);
        if (last) request.onFrame?.(last);
      },
    });
    const identity = await device.identify();
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
      results,
      lensDpt,
      parked,
      softwareVersion,
    };
  } finally {
    await device.close({ keepPower });
  }
}

/** The camera inside the limits of lens, station and request. */
async function limited(device: FocusCamera, { loaded, powerRangeDpt }: AutofocusRequest): Promise<FocusCamera> {
  const own = await device.capabilities();
  const station = loaded ? powerLimitsOf(loaded.station) : own;
  const lowest = Math.max(own.powerMinDpt, station.powerMinDpt);
  const highest = Math.min(own.powerMaxDpt, station.powerMaxDpt);
  const [powerMinDpt, powerMaxDpt] = powerRangeDpt ?? [lowest, highest];
  if (lowest > highest || powerMinDpt < lowest - 1e-9 || powerMaxDpt > highest + 1e-9) {
    throw new FocuswrightError('lens-power-out-of-range', {
      wanted: `${powerMinDpt} … ${powerMaxDpt} dpt`,
      allowed: `${lowest} … ${highest} dpt`,
    });
  }
  return guardLens(device, { powerMinDpt, powerMaxDpt });
}

/** The middle of the frame: 256 pixels each way, less in a smaller frame. */
function middleRegion({ widthPx, heightPx }: { widthPx: number; heightPx: number }): Region {
  const size = (lengthPx: number) => Math.min(256, lengthPx);
  return {
    xPx: Math.floor((widthPx - size(widthPx)) / 2),
    yPx: Math.floor((heightPx - size(heightPx)) / 2),
    widthPx: size(widthPx),
    heightPx: size(heightPx),
  };
}

function requireFocusRegion(region: Region, frame: { widthPx: number; heightPx: number }): void {
  const { xPx, yPx, widthPx, heightPx } = region;
  const details = {
    region: `${widthPx} × ${heightPx} px at ${xPx}, ${yPx}`,
    frame: `${frame.widthPx} × ${frame.heightPx} px`,
  };
  if (xPx + widthPx > frame.widthPx || yPx + heightPx > frame.heightPx) {
    throw new FocuswrightError('region-outside-frame', details);
  }
  if (Math.min(widthPx, heightPx) < smallestAutofocusRegionPx) {
    const smallest = `${smallestAutofocusRegionPx} × ${smallestAutofocusRegionPx} px`;
    throw new FocuswrightError('region-too-small', { ...details, allowed: `at least ${smallest}` });
  }
}
