import { FocuswrightError, neverCancelled } from '../../base/index.js';
import type { FocusedPart, FocusFound, PartsSummary } from '../../station/index.js';
import { driftSums, expectPart, type FoundPart, type PowerForecast } from './part-expectation.js';
import { returnToPower } from './return-to-power.js';
import { type FocusSearchRequest, runFocusSearch } from './run-search.js';

/** A part that has come to its place. */
export interface ArrivedPart {
  /** As a gauge or a recipe tells; null: not told. */
  workingDistanceMm: number | null;
}

/** What a run of parts is made on. */
export interface FollowPartsRequest extends Omit<FocusSearchRequest, 'expected' | 'cameFrom' | 'park'> {
  /** Resolves when the next part is there; null: there are no more. Throws `cancelled` when it waited in vain. */
  nextPart: (number: number) => Promise<ArrivedPart | null>;
  /** Where a distance says that best focus lies; null: it does not tell. Default: nothing is known. */
  forecast?: (workingDistanceMm: number) => Promise<PowerForecast | null>;
  /** Told after every part. */
  onPart?: (part: FocusedPart) => void;
}

/** Parts refused in turn because lens or camera did not follow, after which the run ends. */
const mostDeviceRefusals = 3;

/**
 * Keeps focus on parts that arrive at changing distance.
 *
 * Model    a search for each part that begins where expectPart says: at the power of its distance (one look and one that confirms),
 *          or where the lens stands. After a refused part the lens goes back to the last good power; a device that does
 *          not follow leaves it parked
 * Returns  what became of all parts; the lens is parked. Cancelling is a way to end: `state` is then `cancelled`.
 * Throws   as runFocusSearch, but for `cancelled`. The lens is then parked.
 * Trust    a part must stand still until its result is told.
 * Checked  recovery: twenty parts, tests/procedures/autofocus/follow-parts.test.ts
 */
export async function followParts(request: FollowPartsRequest): Promise<PartsSummary> {
  const { camera, nextPart, forecast = async () => null, onPart, signal = neverCancelled, ...search } = request;
  const { powerMinDpt, powerMaxDpt } = await camera.capabilities();
  const recent: FoundPart[] = [];
  const drift = driftSums();
  const frames: number[] = [];
  const times: number[] = [];
  let lastGood: FocusFound | null = null;
  let cameFrom: FocusFound['approachedFrom'] | undefined;
  let deviceRefusals = 0;
  let partCount = 0;

  async function focusPart(part: ArrivedPart): Promise<void> {
    const arrivedAtMs = camera.clock.nowMs();
    const { workingDistanceMm } = part;
    const told = workingDistanceMm === null ? null : await forecast(workingDistanceMm);
    const expected = expectPart({ forecast: told, found: recent, rangeDpt: powerMaxDpt - powerMinDpt });
    const result = await runFocusSearch({ ...search, camera, signal, expected, ...(cameFrom && { cameFrom }) });
    cameFrom = result.kind === 'found' ? result.approachedFrom : undefined;
    const number = ++partCount;
    if (result.kind === 'found') {
      const found = { number, focalPowerDpt: result.focalPowerDpt, forecast: told };
      recent.push(found);
      if (recent.length > 16) recent.shift();
      drift.take(found);
      frames.push(result.frames);
      times.push(result.elapsedMs);
      lastGood = result;
      deviceRefusals = 0;
    } else if (result.reason === 'device') {
      deviceRefusals++;
    } else {
      deviceRefusals = 0;
      if (lastGood !== null) {
        await returnToPower(request, lastGood);
        cameFrom = lastGood.approachedFrom;
      }
    }
    const offExpectedDpt = result.kind === 'found' && expected ? result.focalPowerDpt - expected.focalPowerDpt : null;
    onPart?.({ kind: 'part', number, arrivedAtMs, workingDistanceMm, expected, offExpectedDpt, result });
  }

  async function follow(): Promise<PartsSummary['state']> {
    for (;;) {
      if (signal.aborted) return 'cancelled';
      const part = await nextPart(partCount + 1);
      if (part === null) return signal.aborted ? 'cancelled' : 'complete';
      await focusPart(part);
      if (deviceRefusals === mostDeviceRefusals) return 'device';
    }
  }

  try {
    const state = await follow().catch((error: unknown) => {
      if (error instanceof FocuswrightError && error.code === 'cancelled') return 'cancelled' as const;
      throw error;
    });
    return {
      kind: 'parts',
      state,
      partCount,
      foundCount: frames.length,
      refusedCount: partCount - frames.length,
      medianFrameCount: quantile(frames, 0.5),
      ninetyFifthFrameCount: quantile(frames, 0.95),
      timeMedianMs: quantile(times, 0.5),
      timeNinetyFifthMs: quantile(times, 0.95),
      drift: drift.drift(),
    };
  } finally {
    await camera.park();
  }
}

/** The smallest value that so many lie at or below; null of none. */
const quantile = (values: readonly number[], share: number): number | null =>
  [...values].sort((a, b) => a - b)[Math.max(0, Math.ceil(share * values.length) - 1)] ?? null;
