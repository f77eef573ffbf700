import type { Readable } from 'node:stream';
import { FocuswrightError } from '../base/index.js';
import type { CameraIdentity, FocusCamera } from '../devices/index.js';
import type { Region } from '../image/index.js';
import {
  expectedFocus,
  type FittedCalibration,
  type FollowPartsRequest,
  followParts,
  type PowerForecast,
  powerForDistance,
} from '../procedures/index.js';
import type { FocusedPart, FocusMethodName, PartsSummary, Station } from '../station/index.js';
import { readCalibration } from './distances-of-sweep.js';
import { type FocusBench, type FocusBenchRequest, openFocusBench } from './focus-bench.js';
import { learningMethodOf } from './focus-method.js';
import { type RegionOrigin, regionsToFocus } from './focus-region.js';
import { drawnDistances, partsByInputLine, partsByLine, partsOnStage } from './part-triggers.js';
import { softwareVersion } from './version.js';

/** Distances are drawn between these. */
interface DistanceRange {
  nearMm: number;
  farMm: number;
}

/** What says that a part is there. */
export type PartTrigger =
  /** The stage brings one after the other: to these distances in turn, or drawn between near and far. */
  | { kind: 'stage'; distancesMm: readonly number[] | 'drawn' | DistanceRange; isTold: boolean }
  /** The next part is there as soon as the last is done. */
  | { kind: 'at-once' }
  /** A line of a stream, with the working distance where a gauge tells it. */
  | { kind: 'lines'; input: Readable }
  /** A frame that an input line of the camera triggers. */
  | { kind: 'input-line'; line: string }
  /** Somebody says so. */
  | { kind: 'asked'; nextPart: FollowPartsRequest['nextPart'] };

/** What a run of parts needs. */
export interface FollowRequest extends FocusBenchRequest {
  method: FocusMethodName;
  /** The region, the same for all parts. */
  region: Region | 'middle' | 'texture';
  trigger: PartTrigger;
  /** null: until cancelled, or until no more come. */
  partCount: number | null;
  /** results.json of a handover; null: the station's model, where there is one. */
  calibrationFile: string | null;
  /** Forget first what earlier runs have learned of this camera's blur. */
  forgetLearned?: boolean;
  onStart?: (about: FollowBegun) => void;
  onPart?: (part: FocusedPart) => void;
  onProgress?: FollowPartsRequest['onProgress'];
}

/** What is known before the first part. */
export interface FollowBegun {
  kind: 'begun';
  camera: CameraIdentity;
  simulated: boolean;
  station: string | null;
  stationSha256: string | null;
  region: Region & RegionOrigin;
  /** Where the first look of a part whose distance is told comes from. */
  forecast: 'calibration' | 'station' | 'none';
  powerMinDpt: number;
  powerMaxDpt: number;
  softwareVersion: string;
}

/**
 * Keeps focus on parts that arrive, until there are no more, their count is full, or it is cancelled. The lens is parked at the end.
 *
 * Throws   as openFocusBench; `calibration-unusable`, `region-outside-frame`, `region-too-small`, `part-line-invalid`,
 *          `target-not-placeable`, `setting-refused`. The lens is then parked.
 */
export async function runFollow(request: FollowRequest): Promise<PartsSummary> {
  const bench = await openFocusBench(request);
  try {
    return await followOn(bench, request);
  } finally {
    await bench.device.close();
  }
}

/** The same on a camera that is open, and stays so. */
export async function followOn(
  bench: FocusBench,
  request: Omit<FollowRequest, 'cameraAddress' | 'powerRangeDpt' | 'seed'>,
): Promise<PartsSummary> {
  const { loaded, calibrationFile, signal, partCount } = request;
  const { device, camera, response } = bench;
  const calibration = calibrationFile === null ? null : await readCalibration(calibrationFile);
  const arrivals = arrivalsOf(bench, request);
  try {
    const { regions, origin } = await regionsToFocus({
      wanted: typeof request.region === 'string' ? request.region : [request.region],
      method: request.method,
      camera,
      response,
      signal,
    });
    const [region] = regions as [Region];
    const { powerMinDpt, powerMaxDpt } = await camera.capabilities();
    const station = loaded?.station ?? null;
    request.onStart?.({
      kind: 'begun',
      camera: await device.identify(),
      simulated: device.simulated,
      station: station?.station ?? null,
      stationSha256: loaded?.sha256 ?? null,
      region: { ...region, ...origin },
      forecast: calibration ? 'calibration' : station ? 'station' : 'none',
      powerMinDpt,
      powerMaxDpt,
      softwareVersion,
    });
    const { method, keep } = await learningMethodOf(request.method, {
      camera: await device.identify(),
      station,
      ...(request.forgetLearned && { forgetFirst: true }),
    });
    const summary = await followParts({
      camera,
      method,
      region,
      response,
      signal,
      nextPart: async (number) => (number > (partCount ?? Number.POSITIVE_INFINITY) ? null : arrivals.nextPart(number)),
      forecast: async (workingDistanceMm) => forecastOf({ workingDistanceMm, calibration, station, camera }),
      ...(request.onPart && { onPart: request.onPart }),
      ...(request.onProgress && { onProgress: request.onProgress }),
    });
    await keep();
    return summary;
  } finally {
    arrivals.close();
  }
}

function arrivalsOf(
  { camera, stage, world, seed }: FocusBench,
  { trigger, signal }: Pick<FollowRequest, 'trigger' | 'signal'>,
): { nextPart: FollowPartsRequest['nextPart']; close(): void } {
  const close = () => {};
  switch (trigger.kind) {
    case 'asked':
      return { nextPart: trigger.nextPart, close };
    case 'at-once':
      return { nextPart: async () => ({ workingDistanceMm: null }), close };
    case 'lines':
      return partsByLine(trigger.input, signal);
    case 'input-line':
      return { nextPart: partsByInputLine(camera, { line: trigger.line, signal }), close };
    case 'stage': {
      const { distancesMm, isTold } = trigger;
      const inTurn = isList(distancesMm) ? distancesMm : (stage.distancesMm ?? []);
      const between = typeof distancesMm === 'object' && !isList(distancesMm) ? distancesMm : world?.task;
      if (inTurn.length === 0 && !between) {
        throw new FocuswrightError('target-not-placeable', { camera: camera.id }, { remedy: 'Name the distances.' });
      }
      const distanceMmOf =
        inTurn.length > 0
          ? (number: number) => inTurn[(number - 1) % inTurn.length]!
          : drawnDistances({ ...between!, seed: seed ?? 0 });
      return { nextPart: partsOnStage(stage, { distanceMmOf, isTold, signal }), close };
    }
  }
}

const isList = (distances: readonly number[] | 'drawn' | DistanceRange): distances is readonly number[] =>
  Array.isArray(distances);

/** Standard deviations in the half-width of a 95 % interval. */
const sigmasOf95 = 1.96;
/** Standard deviations that expectedFocus gives as farthest off. */
const sigmasOfMostOff = 4;

/** Where a distance says that best focus lies: by the calibration, by the station's model, or not at all. */
async function forecastOf({
  workingDistanceMm,
  calibration,
  station,
  camera,
}: {
  workingDistanceMm: number;
  calibration: FittedCalibration | null;
  station: Station | null;
  camera: FocusCamera;
}): Promise<PowerForecast | null> {
  if (calibration) {
    const [near, far] = [calibration.curve[0]!.workingDistanceMm, calibration.curve.at(-1)!.workingDistanceMm];
    if (workingDistanceMm < Math.min(near, far) || workingDistanceMm > Math.max(near, far)) return null;
    const { temperatureDegC } = await camera.lensStatus();
    const { temperatureCoefficientDptPerDegC } = station?.parts.tunableLens ?? { temperatureCoefficientDptPerDegC: 0 };
    const { focalPowerDpt, predicted95Dpt } = powerForDistance({
      calibration,
      workingDistanceMm,
      ...(temperatureDegC !== null && { lens: { temperatureDegC, temperatureCoefficientDptPerDegC } }),
    });
    return { focalPowerDpt, focalPowerStdDpt: predicted95Dpt / sigmasOf95 };
  }
  if (!station) return null;
  try {
    const { focalPowerDpt, mostOffDpt } = expectedFocus(station, [], workingDistanceMm);
    return { focalPowerDpt, focalPowerStdDpt: mostOffDpt / sigmasOfMostOff };
  } catch (error) {
    if (error instanceof FocuswrightError && error.code === 'layout-forms-no-image') return null;
    throw error;
  }
}
