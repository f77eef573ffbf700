import type { Verdict } from '../base/index.js';
import type { Rehearsal } from './state/rehearsal-state.js';

/** A step of the job with its state as a word and a shape. */
export interface JobStep {
  path: string;
  title: string;
  state: { word: string; shape: Verdict | 'open' | 'running' };
  /** false: this version has no page for it. */
  available: boolean;
}

/** What the states follow from. */
interface JobState {
  /** Of the plan. */
  verdict: Verdict;
  problemCount: number;
  rehearsal: Rehearsal | null;
  /** The station in the page is no longer the one that was rehearsed. */
  changedSince: boolean;
}

/** The job's path, in its order, with the state each step has now. */
export function jobSteps({ verdict, problemCount, rehearsal, changedSince }: JobState): JobStep[] {
  const record = rehearsal?.record ?? null;
  const waiting = { word: 'needs a rehearsal', shape: 'open' } as const;
  const absent = { word: 'not in this version', shape: 'open' } as const;
  const since = changedSince ? ', station changed since' : '';
  const found = record?.autofocus.filter((result) => result.kind === 'found').length ?? 0;
  const readings = record?.resolution ?? [];
  const read = readings.filter(({ result }) => result.kind === 'measured').length;
  const ledgerVerdict = (prefix: string): Verdict => {
    const verdicts = record?.ledger.filter((row) => row.key.startsWith(prefix)).map((row) => row.verdict) ?? [];
    return (['fails', 'marginal', 'unknown', 'meets'] as const).find((v) => verdicts.includes(v)) ?? 'unknown';
  };
  return [
    step(
      'task',
      'Task',
      problemCount ? { word: `${problemCount} to correct`, shape: 'fails' } : { word: 'stated', shape: 'meets' },
    ),
    step('layout', 'Layout', { word: verdict, shape: verdict }),
    step('rehearse', 'Rehearse', rehearsalState(rehearsal, since)),
    step('connect', 'Connect', { word: 'look through a camera', shape: 'open' }),
    step(
      'autofocus',
      'Autofocus',
      record
        ? {
            word: `${found} of ${record.autofocus.length} found${since}`,
            shape: found === record.autofocus.length ? 'meets' : 'fails',
          }
        : { word: 'ready to search', shape: 'open' },
    ),
    step(
      'calibration',
      'Distance calibration',
      record?.calibration
        ? {
            word: `${record.calibration.kind}${since}`,
            shape: record.calibration.kind === 'fitted' ? 'meets' : 'fails',
          }
        : waiting,
    ),
    step(
      'resolution',
      'Resolution check',
      record ? { word: `${read} of ${readings.length} read${since}`, shape: ledgerVerdict('resolution') } : waiting,
    ),
    step('sequences', 'Sequences', absent, false),
    step('handover', 'Handover', rehearsal?.reportUrl ? { word: `report ready${since}`, shape: 'meets' } : waiting),
    step('drift', 'Drift', absent, false),
  ];
}

function step(path: string, title: string, state: JobStep['state'], available = true): JobStep {
  return { path: `/${path}`, title, state, available };
}

function rehearsalState(rehearsal: Rehearsal | null, since: string): JobStep['state'] {
  if (!rehearsal) return { word: 'not begun', shape: 'open' };
  if (rehearsal.state === 'running')
    return { word: `running, ${Math.round(100 * rehearsal.doneShare)} %${since}`, shape: 'running' };
  if (rehearsal.state !== 'complete') return { word: `${rehearsal.state}${since}`, shape: 'fails' };
  const verdict = rehearsal.record?.verdict;
  return verdict ? { word: `${verdict}${since}`, shape: verdict } : { word: `complete${since}`, shape: 'unknown' };
}
