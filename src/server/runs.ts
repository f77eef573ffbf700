import { join } from 'node:path';
import { commissionStation, makeFolder, parseStationText } from '../app/index.js';
import { FocuswrightError } from '../base/index.js';
import type { RehearsalRequest, RunEvent, RunSummary } from '../protocol/index.js';

/** A rehearsal that runs or has run in this process. */
export interface Run {
  summary: RunSummary;
  /** All events so far; a page that connects late sees the whole story. */
  events: RunEvent[];
  /** Called for each later event; returns the way to stop listening. */
  listen(listener: (event: RunEvent) => void): () => void;
  cancel(): void;
  /** Resolves when the run has ended, whatever way. */
  ended: Promise<void>;
}

/** The rehearsals of this server: one at a time, each with a handover folder under `runsFolder`. */
export interface RunBook {
  start(request: RehearsalRequest): Promise<Run>;
  find(runId: string): Run | undefined;
  list(): RunSummary[];
  /** Cancels what runs and waits until its lens is parked and its folder closed. */
  close(): Promise<void>;
}

/** Opens the book; finished handovers stay on disk after the server has ended. */
export function openRunBook(runsFolder: string): RunBook {
  const runs = new Map<string, Run>();
  let starting = false;

  return {
    async start(request) {
      const running = [...runs.values()].find((run) => run.summary.state === 'running');
      if (running || starting) {
        throw new FocuswrightError('run-in-progress', { running: running?.summary.runId ?? 'starting' });
      }
      starting = true;
      try {
        const loaded = parseStationText(request.yaml, 'the station in the page');
        await makeFolder(runsFolder).catch((cause: unknown) => {
          throw new FocuswrightError(
            'output-not-writable',
            { folder: runsFolder },
            { cause, remedy: 'Start the server with another folder for --runs, or give write permission.' },
          );
        });
        const runId = newRunId(loaded.station.station, runs);
        const run = beginRun({ runId, loaded, seed: request.seed, folder: join(runsFolder, runId) });
        runs.set(runId, run);
        return run;
      } finally {
        starting = false;
      }
    },
    find: (runId) => runs.get(runId),
    list: () => [...runs.values()].map((run) => run.summary),
    async close() {
      for (const run of runs.values()) run.cancel();
      await Promise.all([...runs.values()].map((run) => run.ended));
    },
  };
}

interface Beginning {
  runId: string;
  loaded: ReturnType<typeof parseStationText>;
  seed: number | undefined;
  folder: string;
}

function beginRun({ runId, loaded, seed, folder }: Beginning): Run {
  const controller = new AbortController();
  const listeners = new Set<(event: RunEvent) => void>();
  const events: RunEvent[] = [];
  const summary: RunSummary = {
    runId,
    station: loaded.station.station,
    state: 'running',
    reportUrl: null,
    message: 'Running',
    yaml: loaded.yaml,
  };
  const tell = (event: RunEvent) => {
    events.push(event);
    for (const listener of listeners) listener(event);
  };
  const end = (state: RunSummary['state'], message: string, reportUrl: string | null, verdict: string) => {
    Object.assign(summary, { state, message, reportUrl });
    if (state !== 'running') tell({ type: 'finished', state, verdict, reportUrl, message });
  };
  const work = commissionStation({
    loaded,
    cameraAddress: 'simulated',
    outFolder: folder,
    seed,
    signal: controller.signal,
    // The server tells the end itself, once the report can be opened.
    observer: (event) => event.type !== 'finished' && tell(event),
  });
  const ended = work.then(
    ({ record }) =>
      end(
        record.state,
        record.stateReason ?? `Verdict: ${record.verdict}`,
        `/handovers/${runId}/report.html`,
        record.verdict,
      ),
    (error: unknown) => {
      const remedy = error instanceof FocuswrightError ? ` ${error.remedy}` : '';
      end('failed', `${error instanceof Error ? error.message : String(error)}${remedy}`, null, 'unknown');
    },
  );
  return {
    summary,
    events,
    listen(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    cancel: () => controller.abort(),
    ended,
  };
}

/** `glaze-line-20260131-142530`, made unique. */
function newRunId(station: string, taken: ReadonlyMap<string, unknown>): string {
  const stamp = new Date().toISOString().slice(0, 19).replace(/[-:]/g, '').replace('T', '-');
  const base = `${station}-${stamp}`;
  let id = base;
  for (let n = 2; taken.has(id); n++) id = `${base}-${n}`;
  return id;
}
