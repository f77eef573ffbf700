import { type CancelSignal, FocuswrightError } from '../base/index.js';
import { cropImage, encodePng, type GreyImage, type Region, shrinkImage } from '../image/index.js';
import { type FocusProgress, runFocusSearch } from '../procedures/index.js';
import type { FocusEvent } from '../protocol/index.js';
import type {
  AutofocusResult,
  FocusedPart,
  FocusMethodName,
  FocusPosterior,
  FocusProbe,
  PartsSummary,
  Station,
} from '../station/index.js';
import { type FocusBench, openFocusBench } from './focus-bench.js';
import { focusMethodOf } from './focus-method.js';
import { regionsToFocus, requireFocusRegion } from './focus-region.js';
import { followOn, type PartTrigger } from './run-follow.js';

/** What the simulated camera is to look at. */
export interface WatchedScene {
  station: Station;
  seed: number;
  workingDistanceMm: number;
}

/** A picture small enough for a page. */
export interface WatchedPicture {
  dataUri: string;
  /** Size of what it shows, in pixels of the camera. */
  widthPx: number;
  heightPx: number;
}

/** What a run tells whoever watches. */
export type WatchedEvent = FocusEvent<{
  region: Region;
  probe: FocusProbe;
  posterior: FocusPosterior;
  result: AutofocusResult;
  part: FocusedPart;
  summary: PartsSummary;
}>;

/** A search, or one after the other on parts, for somebody to watch. */
export interface WatchedRequest {
  station: Station;
  method: FocusMethodName;
  region: Region | 'texture';
  /** null: one search. */
  parts: { count: number; trigger: PartTrigger } | null;
  signal: CancelSignal;
  tell: (event: WatchedEvent) => void;
}

const framePictureWidthPx = 800;
const regionPictureWidthPx = 192;

/** Opens the simulated station with its target placed. Throws what openFocusBench and the stage throw. */
export async function openWatchedScene({ station, seed, workingDistanceMm }: WatchedScene): Promise<FocusBench> {
  const bench = await openFocusBench({
    cameraAddress: 'simulated',
    loaded: { station, sha256: '' },
    powerRangeDpt: null,
    seed,
    signal: { aborted: false },
  });
  try {
    await bench.stage.placeTarget({ workingDistanceMm });
    return bench;
  } catch (error) {
    await bench.device.close();
    throw error;
  }
}

/** What a camera sees as it stands. Throws what the camera throws. */
export async function watchScene({ camera }: FocusBench): Promise<WatchedPicture> {
  return pictureOf((await camera.grab()).image, framePictureWidthPx);
}

/**
 * Runs a search, or searches on parts, and tells each step; `ended` comes last, whatever happened.
 *
 * Throws   `region-outside-frame`, `region-too-small` before anything moves; nothing else: troubles are told.
 */
export async function watchFocus(bench: FocusBench, request: WatchedRequest): Promise<{ ended: Promise<void> }> {
  const { device, camera } = bench;
  const { method, region, tell } = request;
  if (region !== 'texture') requireFocusRegion(region, { frame: await camera.capabilities(), method });
  const run = request.parts === null ? searchOnce(bench, request) : followAll(bench, request, request.parts);
  const lensDpt = () =>
    device.lensStatus().then(
      ({ focalPowerDpt }) => focalPowerDpt,
      () => null,
    );
  const ended = run.then(
    async () => tell({ type: 'ended', state: 'complete', message: null, lensDpt: await lensDpt() }),
    async (error: unknown) => {
      const isCancelled = error instanceof FocuswrightError && error.code === 'cancelled';
      tell({
        type: 'ended',
        state: isCancelled ? 'cancelled' : 'failed',
        message: isCancelled ? 'Cancelled; the lens is parked.' : troubleText(error),
        lensDpt: await lensDpt(),
      });
    },
  );
  return { ended };
}

async function searchOnce({ camera, response }: FocusBench, request: WatchedRequest): Promise<void> {
  const { method, region: wanted, station, signal, tell } = request;
  const { regions } = await regionsToFocus({
    wanted: wanted === 'texture' ? wanted : [wanted],
    method,
    camera,
    response,
    signal,
  });
  const [region] = regions as [Region];
  if (wanted === 'texture') tell({ type: 'region', region });
  const result = await runFocusSearch({
    camera,
    method: focusMethodOf(method, { station }),
    region,
    response,
    signal,
    onProgress: (progress) => tellFrame(tell, { part: null, region, progress }),
  });
  tell({ type: 'result', result });
}

async function followAll(
  bench: FocusBench,
  { station, method, region: wanted, signal, tell }: WatchedRequest,
  { count, trigger }: NonNullable<WatchedRequest['parts']>,
): Promise<void> {
  let part = 1;
  let region: Region | null = null;
  const summary = await followOn(bench, {
    loaded: { station, sha256: '' },
    method,
    region: wanted,
    trigger,
    partCount: count,
    calibrationFile: null,
    signal,
    onStart(begun) {
      const { xPx, yPx, widthPx, heightPx } = begun.region;
      region = { xPx, yPx, widthPx, heightPx };
      if (wanted === 'texture') tell({ type: 'region', region });
    },
    onProgress: (progress) => tellFrame(tell, { part, region: region!, progress }),
    onPart(done) {
      part = done.number + 1;
      tell({ type: 'part', part: { ...done, result: { ...done.result, posterior: null } } });
    },
  });
  tell({ type: 'summary', summary });
  if (summary.state === 'cancelled') throw new FocuswrightError('cancelled', { during: 'focus on parts' });
}

function tellFrame(
  tell: WatchedRequest['tell'],
  { part, region, progress }: { part: number | null; region: Region; progress: FocusProgress },
): void {
  const { frame, probes, posterior } = progress;
  const probe = probes.at(-1);
  if (!probe) return;
  const picture = pictureOf(cropImage({ image: frame.image, region }), regionPictureWidthPx);
  tell({ type: 'frame', part, probe, posterior, picture });
}

function troubleText(error: unknown): string {
  const remedy = error instanceof FocuswrightError ? ` ${error.remedy}` : '';
  return `${error instanceof Error ? error.message : String(error)}${remedy}`;
}

function pictureOf(image: GreyImage, mostWidthPx: number): WatchedPicture {
  const factor = Math.max(1, Math.ceil(image.widthPx / mostWidthPx));
  const png = Buffer.from(encodePng(shrinkImage({ image, factor })));
  return {
    dataUri: `data:image/png;base64,${png.toString('base64')}`,
    widthPx: image.widthPx,
    heightPx: image.heightPx,
  };
}
