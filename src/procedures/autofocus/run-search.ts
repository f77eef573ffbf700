import { type CancelSignal, FocuswrightError, neverCancelled, throwIfCancelled } from '../../base/index.js';
import type { FocusCamera, Frame } from '../../devices/index.js';
import { type Region, requireRegion } from '../../image/index.js';
import type { AutofocusResult, FocusPosterior, FocusProbe, FocusRefusalReason } from '../../station/index.js';
import { focusRemedies } from './focus-remedies.js';
import type { FocusLimits, FocusMethod, FocusSearch, FocusStep, FocusTask } from './method.js';

/** How the lens answers a command, as far as known. */
export interface LensResponse {
  /** From a command until the lens is at rest. */
  settlingMs: (move: { fromDpt: number | null; toDpt: number }) => number;
  /** Full width of the hysteresis; 0: none, or not known. */
  hysteresisDpt: number;
}

/** Told after every frame, for whoever watches; must not throw. */
export interface FocusProgress {
  probes: readonly FocusProbe[];
  posterior: FocusPosterior | null;
  frame: Frame;
}

/** What a focus search is to be run on. */
export interface FocusSearchRequest {
  /** Behind the station's limits, where there are any. */
  camera: FocusCamera;
  method: FocusMethod;
  region: Region;
  response: LensResponse;
  expected?: FocusTask['expected'];
  /** Park the lens also after success. Default: it stays at the found power. */
  park?: boolean;
  signal?: CancelSignal;
  onProgress?: (progress: FocusProgress) => void;
}

const mostLostFrames = 3;
/** Overshoot beyond a power that must be reached from one side, in widths of the hysteresis. */
const overshootWidths = 2;
const leastOvershootDpt = 0.05;

/**
 * Runs a focus search on a camera: moves, waits, grabs, asks the search what next.
 *
 * Returns  the result; after `found` the lens stands at the found power (unless `park`), after a refusal it is parked.
 * Throws   RangeError for a region outside the frame; `cancelled`, `camera-link-lost`, `camera-closed`. The lens is then parked.
 * Checked  recovery: tests/procedures/autofocus
 */
export async function runFocusSearch(request: FocusSearchRequest): Promise<AutofocusResult> {
  const { camera, method, region, response } = request;
  const device = await camera.capabilities();
  requireRegion('region', region, { ...device, data: new Uint8Array(0) });
  const limits: FocusLimits = device;
  const frameMs = 1000 / device.frameRateHz;
  const startMs = camera.clock.nowMs();
  const startDpt = (await camera.lensStatus()).focalPowerDpt;
  const search = method.start({
    region,
    limits,
    startDpt,
    expected: request.expected ?? null,
    hysteresisDpt: response.hysteresisDpt,
    moveMs: (move) => response.settlingMs(move) + frameMs,
  });
  const walk: Walk = { request, limits, positionDpt: startDpt, cameFrom: 'below', frames: 0 };
  let keepPower = false;
  try {
    const end = await follow(walk, search);
    keepPower = end.kind === 'found' && request.park !== true;
    const seen = {
      method: method.name,
      frames: walk.frames,
      elapsedMs: camera.clock.nowMs() - startMs,
      region,
      probes: [...search.probes],
      posterior: search.posterior,
    };
    return end.kind === 'found'
      ? { ...seen, ...end, approachedFrom: walk.cameFrom }
      : { ...seen, ...end, remedy: end.remedy ?? focusRemedies[end.reason] };
  } finally {
    if (!keepPower) await camera.park();
  }
}

/** Where a run stands. */
interface Walk {
  request: FocusSearchRequest;
  limits: FocusLimits;
  positionDpt: number | null;
  cameFrom: 'below' | 'above';
  frames: number;
}

type End = Exclude<FocusStep, { kind: 'look' }>;

async function follow(walk: Walk, search: FocusSearch): Promise<End> {
  const { camera, onProgress } = walk.request;
  let step = search.begin();
  try {
    while (step.kind === 'look') {
      const commandedDpt = await move(walk, step);
      const frame = await grabUnlost(walk);
      walk.frames++;
      const { image, frameId, exposedAtMs } = frame;
      step = search.next({ image, commandedDpt, powersDpt: [commandedDpt], frameId, exposedAtMs });
      onProgress?.({ probes: search.probes, posterior: search.posterior, frame });
    }
    if (step.kind === 'found' && step.focalPowerDpt !== walk.positionDpt) {
      await move(walk, { ...step, approachFrom: null });
    }
    return step;
  } catch (error) {
    if (error instanceof FocuswrightError && (error.code === 'frame-lost' || error.code === 'lens-not-moving')) {
      return deviceRefusal(error.message, error.remedy);
    }
    throw error;
  } finally {
    throwIfCancelled(walk.request.signal ?? neverCancelled, `autofocus on ${camera.id}`);
  }
}

const deviceRefusal = (message: string, remedy: string) => ({
  kind: 'refused' as const,
  reason: 'device' satisfies FocusRefusalReason as FocusRefusalReason,
  message,
  remedy,
});

/** Brings the lens to rest at a power; returns the power really commanded. */
async function move(
  walk: Walk,
  { focalPowerDpt, approachFrom }: { focalPowerDpt: number; approachFrom: 'below' | 'above' | null },
): Promise<number> {
  const { camera, response, signal = neverCancelled } = walk.request;
  throwIfCancelled(signal, 'moving the lens');
  const fromDpt = walk.positionDpt;
  const comesFrom = fromDpt === null || focalPowerDpt >= fromDpt ? 'below' : 'above';
  if (approachFrom !== null && (fromDpt === null || comesFrom !== approachFrom)) {
    const beyondDpt = Math.max(leastOvershootDpt, overshootWidths * response.hysteresisDpt);
    const viaDpt = focalPowerDpt + (approachFrom === 'below' ? -beyondDpt : beyondDpt);
    await command(walk, Math.min(walk.limits.powerMaxDpt, Math.max(walk.limits.powerMinDpt, viaDpt)));
  }
  const beforeDpt = walk.positionDpt;
  const commandedDpt = await command(walk, focalPowerDpt);
  if (commandedDpt !== beforeDpt) walk.cameFrom = beforeDpt === null || commandedDpt > beforeDpt ? 'below' : 'above';
  return commandedDpt;

  async function command(to: Walk, powerDpt: number): Promise<number> {
    const before = to.positionDpt;
    if (powerDpt === before) return powerDpt;
    const commanded = await camera.setFocalPower({ focalPowerDpt: powerDpt });
    await camera.clock.sleep(response.settlingMs({ fromDpt: before, toDpt: commanded }));
    to.positionDpt = commanded;
    return commanded;
  }
}

async function grabUnlost({ request: { camera, signal = neverCancelled } }: Walk): Promise<Frame> {
  for (let lost = 0; ; lost++) {
    throwIfCancelled(signal, 'grabbing a frame');
    try {
      return await camera.grab({ signal });
    } catch (error) {
      const again = error instanceof FocuswrightError && error.code === 'frame-lost' && lost < mostLostFrames;
      if (!again) throw error;
    }
  }
}
