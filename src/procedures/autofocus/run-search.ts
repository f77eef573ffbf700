import { type CancelSignal, FocuswrightError, neverCancelled, throwIfCancelled } from '../../base/index.js';
import type { FocusCamera, Frame } from '../../devices/index.js';
import { type Region, requireRegion } from '../../image/index.js';
import type { AutofocusResult, FocusPosterior, FocusProbe, FocusRefusalReason } from '../../station/index.js';
import { focusRemedies } from './focus-remedies.js';
import { type LensMoves, sideOf } from './lens-play.js';
import type { FocusLimits, FocusMethod, FocusSearch, FocusStep, FocusTask } from './method.js';
import { overshootPowerDpt } from './overshoot.js';

/** A move in two steps: a power on the way first, the whole after a time. */
export interface ShapedMove {
  firstDpt: number;
  gapMs: number;
  /** From the first step until the lens is within the tolerance. */
  settlingMs: number;
}

/** How the lens answers a command, as far as known. */
export interface LensResponse {
  /** From a command until the lens is at rest, or within a tolerance of it where one is given. */
  settlingMs: (move: { fromDpt: number | null; toDpt: number; toleranceDpt?: number }) => number;
  /** Powers in the middles of equal parts of a time after a command; absent: the response is not known. */
  powersDpt?: (move: {
    fromDpt: number;
    toDpt: number;
    shape?: ShapedMove | null;
    sinceMs: number;
    untilMs: number;
  }) => readonly number[];
  /** A move in two steps whose rings cancel, where that settles sooner; null: where not. Absent: the response is not known. */
  shaped?: (move: { fromDpt: number; toDpt: number; toleranceDpt?: number }) => ShapedMove | null;
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
  /** Side from which the lens came to where it stands, where somebody knows. */
  cameFrom?: 'below' | 'above';
  /** Park the lens also after success. Default: it stays at the found power. */
  park?: boolean;
  signal?: CancelSignal;
  onProgress?: (progress: FocusProgress) => void;
}

const mostLostFrames = 3;
/** A second step later or sooner than this share of its time does not cancel the ring of the first. */
const mostGapError = 0.1;
/** A lens this share of its next move off its power counts as at rest. */
const mostLeftOver = 0.02;
/** A read-back power may differ this much from the command, and lag behind it for so many frames. */
const followingShare = 0.03;
const leastFollowingDpt = 0.1;
const mostLateFrames = 3;
const lateWaitMs = 60;

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
    isResponseKnown: response.powersDpt !== undefined,
    moveMs: (move) => response.settlingMs(move) + frameMs,
  });
  const walk: Walk = {
    request,
    limits,
    positionDpt: startDpt,
    moves: { movesDpt: [], startPart: startPartOf(request.cameFrom) },
    leftDpt: startDpt,
    commandedAtMs: null,
    shape: null,
    nowDpt: startDpt,
    frames: 0,
  };
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
      ? {
          ...seen,
          ...withoutApproach(end),
          approachedFrom: cameFrom(walk) ?? 'below',
          ...(search.learnedBlur && { learnedBlur: search.learnedBlur }),
        }
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
  moves: LensMoves;
  /** Where the lens was when it was last sent somewhere, and when that was. */
  leftDpt: number | null;
  commandedAtMs: number | null;
  /** How it was sent there; null: by one command. */
  shape: ShapedMove | null;
  /** Where it is now, by its response. */
  nowDpt: number | null;
  frames: number;
}

type End = Exclude<FocusStep, { kind: 'look' }>;

async function follow(walk: Walk, search: FocusSearch): Promise<End> {
  const { camera, onProgress } = walk.request;
  let step = search.begin();
  try {
    while (step.kind === 'look') {
      const commandedDpt = await move(walk, step);
      const frame = await grabFollowing(walk, commandedDpt);
      const { image, frameId, exposedAtMs } = frame;
      const powersDpt = powersDuring(walk, frame, commandedDpt);
      step = search.next({
        image,
        commandedDpt,
        powersDpt,
        cameFrom: cameFrom(walk),
        moves: walk.moves,
        frameId,
        exposedAtMs,
      });
      onProgress?.({
        probes: search.probes,
        posterior: search.posterior,
        frame,
      });
    }
    if (step.kind === 'found' && step.focalPowerDpt !== walk.positionDpt) {
      await move(walk, {
        focalPowerDpt: step.focalPowerDpt,
        approachFrom: step.approachFrom ?? null,
      });
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

const withoutApproach = ({ approachFrom: _, ...found }: Extract<End, { kind: 'found' }>) => found;

const deviceRefusal = (message: string, remedy: string) => ({
  kind: 'refused' as const,
  reason: 'device' satisfies FocusRefusalReason as FocusRefusalReason,
  message,
  remedy,
});

/** Brings the lens to rest at a power; returns the power really commanded. */
async function move(
  walk: Walk,
  {
    focalPowerDpt,
    approachFrom,
    toleranceDpt,
  }: {
    focalPowerDpt: number;
    approachFrom: 'below' | 'above' | null;
    toleranceDpt?: number;
  },
): Promise<number> {
  const { camera, response, signal = neverCancelled } = walk.request;
  throwIfCancelled(signal, 'moving the lens');
  if (approachFrom !== null && sideAfter(walk, focalPowerDpt) !== approachFrom) {
    const viaDpt = overshootPowerDpt({ toDpt: focalPowerDpt, side: approachFrom, response, limits: walk.limits });
    await command(walk, viaDpt, Math.abs(viaDpt - focalPowerDpt) / 4 || undefined);
  }
  return command(walk, focalPowerDpt, toleranceDpt);

  async function command(to: Walk, powerDpt: number, allowedDpt: number | undefined): Promise<number> {
    const before = to.positionDpt;
    if (powerDpt === before) return powerDpt;
    const leftOver = before === null || to.nowDpt === null ? Number.POSITIVE_INFINITY : Math.abs(to.nowDpt - before);
    const isAtRest = before !== null && leftOver <= mostLeftOver * Math.abs(powerDpt - before);
    const wanted = { toDpt: powerDpt, ...(allowedDpt !== undefined && { toleranceDpt: allowedDpt }) };
    const shape = isAtRest ? (response.shaped?.({ ...wanted, fromDpt: before }) ?? null) : null;
    const startedAtMs = camera.clock.nowMs();
    if (shape) {
      await camera.setFocalPower({ focalPowerDpt: shape.firstDpt });
      await camera.clock.sleep(Math.max(0, shape.gapMs - (camera.clock.nowMs() - startedAtMs)));
    }
    const gapMs = camera.clock.nowMs() - startedAtMs;
    const commanded = await camera.setFocalPower({ focalPowerDpt: powerDpt });
    if (commanded === before) return commanded;
    const isInTime = shape !== null && Math.abs(gapMs - shape.gapMs) <= mostGapError * shape.gapMs;
    // A second step at the wrong time leaves a ring of unknown phase: it is waited for to its end.
    to.leftDpt = shape && !isInTime ? null : to.nowDpt;
    to.shape = isInTime ? shape : null;
    to.commandedAtMs = startedAtMs;
    const plain = shape ? { fromDpt: before, toDpt: commanded } : { ...wanted, fromDpt: before, toDpt: commanded };
    await camera.clock.sleep(
      isInTime ? Math.max(0, shape.settlingMs - (camera.clock.nowMs() - startedAtMs)) : response.settlingMs(plain),
    );
    to.moves = movesAfter(to, commanded);
    to.positionDpt = commanded;
    to.nowDpt = commanded;
    return commanded;
  }
}

const startPartOf = (side: 'below' | 'above' | undefined): number | null =>
  side === undefined ? null : side === 'below' ? 0 : 1;

/** The moves with one more; none where nobody knows whence it goes. */
const movesAfter = ({ positionDpt, moves }: Walk, toDpt: number): LensMoves =>
  positionDpt === null ? moves : { ...moves, movesDpt: [...moves.movesDpt, toDpt - positionDpt] };

const cameFrom = ({ moves, request }: Walk) => sideOf(moves, { widthDpt: request.response.hysteresisDpt });

/** Side from which the lens will have come after a move. */
const sideAfter = (walk: Walk, toDpt: number) => cameFrom({ ...walk, moves: movesAfter(walk, toDpt) });

/** Powers during the exposure of a frame, where the response is known and the lens still moved; else the commanded one. */
function powersDuring(walk: Walk, frame: Frame, commandedDpt: number): readonly number[] {
  const { leftDpt, commandedAtMs, shape, request } = walk;
  const { exposureMs, exposedAtMs } = frame;
  if (!request.response.powersDpt || leftDpt === null || commandedAtMs === null || exposureMs === null) {
    return [commandedDpt];
  }
  const middleMs = exposedAtMs - commandedAtMs;
  const sinceMs = Math.max(0, middleMs - exposureMs / 2);
  const untilMs = middleMs + exposureMs / 2;
  if (untilMs <= sinceMs) return [commandedDpt];
  const powers = request.response.powersDpt({
    fromDpt: leftDpt,
    toDpt: commandedDpt,
    shape,
    sinceMs,
    untilMs,
  });
  walk.nowDpt = powers.at(-1) ?? commandedDpt;
  return powers;
}

/** A frame whose read-back power follows the command; waits and grabs again where it does not yet. */
async function grabFollowing(walk: Walk, commandedDpt: number): Promise<Frame> {
  const { camera } = walk.request;
  const { powerMinDpt, powerMaxDpt } = walk.limits;
  const allowedDpt = Math.max(leastFollowingDpt, followingShare * (powerMaxDpt - powerMinDpt));
  for (let late = 0; ; late++) {
    const frame = await grabUnlost(walk);
    walk.frames++;
    if (Math.abs(frame.focalPowerDpt - commandedDpt) <= allowedDpt) return frame;
    if (late === mostLateFrames) {
      throw new FocuswrightError('lens-not-moving', {
        commandedDpt,
        readBackDpt: frame.focalPowerDpt,
      });
    }
    await camera.clock.sleep(lateWaitMs);
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
