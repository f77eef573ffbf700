import { create } from 'zustand';
import { type RunEvent, type RunSummary, runSteps } from '../../protocol/index.js';
import type { CommissionRecord } from '../../station/index.js';
import { ServerError, server } from './server.js';
import { type PlannedStation, plannedText } from './station-state.js';

type Point = Extract<RunEvent, { type: 'sweep-point' }>;
type Focus = Extract<RunEvent, { type: 'focus-found' | 'focus-refused' }>;

/** One rehearsal as the page sees it: live while it runs, its record when it has ended. */
export interface Rehearsal {
  runId: string;
  station: string;
  /** The station's text when the run began, and what follows from it: every reading is shown against these. */
  yaml: string;
  rehearsed: PlannedStation;
  state: RunSummary['state'];
  /** Title of the present step. */
  step: string;
  /** How far the whole run is, 0 to 1; it never falls back. */
  doneShare: number;
  message: string;
  /** Points of the sweep at the present distance. */
  points: Point[];
  focus: Focus[];
  readings: string[];
  reportUrl: string | null;
  record: CommissionRecord | null;
}

export interface RehearsalState {
  current: Rehearsal | null;
  /** What this server has run, oldest first, for the strip at the bottom. */
  past: Rehearsal[];
  trouble: { message: string; remedy: string } | null;
  start(request: { yaml: string; seed: number }): Promise<void>;
  /** Takes up the server's runs again, after the page was loaded anew. */
  restore(): Promise<void>;
  cancel(): Promise<void>;
  /** Shows an earlier rehearsal again. */
  show(runId: string): void;
}

export const useRehearsal = create<RehearsalState>((set, get) => {
  const change = (runId: string, update: (rehearsal: Rehearsal) => Partial<Rehearsal>) => {
    const { current, past } = get();
    const apply = (r: Rehearsal) => (r.runId === runId ? { ...r, ...update(r) } : r);
    set({ current: current && apply(current), past: past.map(apply) });
  };
  const fail = (error: unknown) => {
    if (!(error instanceof ServerError)) throw error;
    set({ trouble: { message: error.message, remedy: error.remedy } });
  };
  /** Shows a run and follows it; the server tells its whole story from the beginning, so an ended one fills as well. */
  const takeUp = (summary: RunSummary) => {
    const { runId } = summary;
    const begun = begunRehearsal(summary);
    set({ current: begun, past: [...get().past, begun] });
    server.follow(runId, {
      event(event) {
        change(runId, (rehearsal) => afterEvent(rehearsal, event));
        if (event.type === 'finished' && event.reportUrl) {
          server.record(runId).then((record) => change(runId, () => ({ record })), fail);
        }
      },
      lost() {
        const message = 'The connection to the server was lost.';
        change(runId, ({ state }) => (state === 'running' ? { state: 'failed', message } : {}));
        set({ trouble: { message, remedy: 'Start it again with `npm start`.' } });
      },
    });
  };
  return {
    current: null,
    past: [],
    trouble: null,
    async start(request) {
      set({ trouble: null });
      await server.startRehearsal(request).then(takeUp).catch(fail);
    },
    async restore() {
      const known = new Set(get().past.map(({ runId }) => runId));
      await server
        .rehearsals()
        .then((runs) => runs.filter(({ runId }) => !known.has(runId)).forEach(takeUp))
        .catch(fail);
    },
    async cancel() {
      const { current } = get();
      if (current?.state === 'running') await server.cancelRehearsal(current.runId).catch(fail);
    },
    show(runId) {
      const found = get().past.find((rehearsal) => rehearsal.runId === runId);
      if (found) set({ current: found });
    },
  };
});

function begunRehearsal({ runId, station, state, yaml, reportUrl }: RunSummary): Rehearsal {
  const rehearsed = plannedText(yaml);
  if (rehearsed.kind === 'problems') {
    throw new ServerError({
      message: `The station of ${runId} cannot be read by this page: ${rehearsed.problems[0]}`,
      remedy: 'Load the page anew; it may be of another version than the server.',
    });
  }
  return {
    runId,
    station,
    yaml,
    rehearsed,
    state,
    step: 'Starting',
    doneShare: state === 'complete' ? 1 : 0,
    message: '',
    points: [],
    focus: [],
    readings: [],
    reportUrl,
    record: null,
  };
}

function afterEvent(rehearsal: Rehearsal, event: RunEvent): Partial<Rehearsal> {
  switch (event.type) {
    case 'step-started':
      return { step: event.title, message: '', doneShare: furtherShare(rehearsal, event, 0) };
    case 'progress':
      return { message: event.message, doneShare: furtherShare(rehearsal, event, event.done / event.total) };
    case 'notice':
      return { message: event.message };
    case 'sweep-point': {
      const same = rehearsal.points[0]?.workingDistanceMm === event.workingDistanceMm;
      return { points: same ? [...rehearsal.points, event] : [event] };
    }
    case 'focus-found':
    case 'focus-refused':
      return { focus: [...rehearsal.focus, event] };
    case 'calibration-fitted':
      return { readings: [...rehearsal.readings, event.explanation] };
    case 'resolution-read':
      return { readings: [...rehearsal.readings, `${event.name}: ${event.message}`] };
    case 'finished':
      return {
        state: event.state,
        message: event.message,
        reportUrl: event.reportUrl,
        doneShare: event.state === 'complete' ? 1 : rehearsal.doneShare,
      };
  }
}

/** Share of the whole run that is done, from the step it is in and the share of that step. */
function furtherShare(
  { doneShare }: Rehearsal,
  { step }: Extract<RunEvent, { type: 'step-started' | 'progress' }>,
  shareOfStep: number,
): number {
  return Math.max(doneShare, (runSteps.indexOf(step) + shareOfStep) / runSteps.length);
}
