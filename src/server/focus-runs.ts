import { randomUUID } from 'node:crypto';
import { type FocusBench, type PartTrigger, type WatchedEvent, type WatchedRequest, watchFocus } from '../app/index.js';
import { FocuswrightError } from '../base/index.js';

/** A search that runs, or has run, in this process. */
export interface FocusRun {
  readonly runId: string;
  /** All that was told so far; who connects late sees the whole story. */
  readonly events: readonly WatchedEvent[];
  /** Called for each later event; returns the way to stop listening. */
  listen(listener: (event: WatchedEvent) => void): () => void;
  cancel(): void;
  /** Says that the next part is there. */
  partIsThere(): void;
  readonly ended: Promise<void>;
}

/** The searches of this server. */
export interface FocusRunBook {
  /** `release` is called when the run has ended, whatever way. Throws as watchFocus; then too. */
  start(
    bench: FocusBench,
    request: Omit<WatchedRequest, 'signal' | 'tell' | 'parts'> & {
      /** `null` as trigger: partIsThere says so. */
      parts: { count: number; trigger: PartTrigger | null } | null;
      release: () => Promise<void>;
    },
  ): Promise<FocusRun>;
  find(runId: string): FocusRun | undefined;
  /** Cancels what runs and waits until its lens is parked. */
  close(): Promise<void>;
}

/** Runs whose pictures are kept for a page that is loaded anew; one that has not ended is kept in any case. */
const keptRuns = 4;

export function openFocusRunBook(): FocusRunBook {
  const runs = new Map<string, FocusRun>();
  /** Those that have ended. */
  const over = new Set<string>();
  return {
    async start(bench, { release, parts, ...request }) {
      const controller = new AbortController();
      const listeners = new Set<(event: WatchedEvent) => void>();
      const events: WatchedEvent[] = [];
      const tell = (event: WatchedEvent) => {
        events.push(event);
        for (const listener of listeners) listener(event);
      };
      const bell = partBell(controller.signal, (part) => tell({ type: 'waiting', part }));
      const trigger = parts?.trigger ?? { kind: 'asked' as const, nextPart: bell.nextPart };
      try {
        const { ended } = await watchFocus(bench, {
          ...request,
          parts: parts && { count: parts.count, trigger },
          signal: controller.signal,
          tell,
        });
        const run: FocusRun = {
          runId: randomUUID(),
          events,
          listen(listener) {
            listeners.add(listener);
            return () => listeners.delete(listener);
          },
          cancel() {
            controller.abort();
            bell.ring();
          },
          partIsThere: bell.ring,
          ended: ended.finally(async () => {
            over.add(run.runId);
            await release();
          }),
        };
        runs.set(run.runId, run);
        for (const old of [...runs.keys()].slice(0, -keptRuns)) if (over.delete(old)) runs.delete(old);
        return run;
      } catch (error) {
        await release();
        throw error;
      }
    },
    find: (runId) => runs.get(runId),
    async close() {
      for (const run of runs.values()) run.cancel();
      await Promise.all([...runs.values()].map((run) => run.ended));
    },
  };
}

/** Waits for each part until somebody rings. */
function partBell(signal: AbortSignal, onWaiting: (part: number) => void) {
  let wake: (() => void) | null = null;
  return {
    ring: () => wake?.(),
    async nextPart(number: number) {
      onWaiting(number);
      await new Promise<void>((resolve) => (wake = resolve));
      wake = null;
      if (signal.aborted) throw new FocuswrightError('cancelled', { during: 'waiting for a part' });
      return { workingDistanceMm: null };
    },
  };
}
