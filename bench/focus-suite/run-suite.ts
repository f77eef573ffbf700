import { wrapCamera } from '../../src/devices/index.js';
import type { AutofocusResult } from '../../src/station/index.js';
import { type CaseKind, caseCounts, caseKinds } from './case-kinds.js';
import { type FocusCase, focusCase, type OpenCase } from './focus-case.js';

/** Any way to find focus in a case. */
export type FocusRunner = (focusCase: FocusCase, camera: OpenCase['camera']) => Promise<AutofocusResult>;

/** What came of one case. */
export interface CaseOutcome {
  focusCase: FocusCase;
  result: AutofocusResult;
  /** Resting power of the lens less true best focus, in half-widths of the depth of field; null: refused. */
  errorHalfWidths: number | null;
  /** Cramér–Rao bound of the frames used, in half-widths. */
  boundHalfWidths: number;
  /** Processor time of the search, without drawing the frames. */
  searchMs: number;
}

/** A found focus counts as right up to this distance, in half-widths. */
export const rightWithinHalfWidths = 0.5;

export const isRight = ({ focusCase: { answer }, result, errorHalfWidths }: CaseOutcome): boolean =>
  answer === 'refused'
    ? result.kind === 'refused'
    : errorHalfWidths !== null && Math.abs(errorHalfWidths) <= rightWithinHalfWidths;

/** Every n-th case of the suite, of all kinds or of the given ones. */
export function suiteCases({ every = 1, kinds = caseKinds }: { every?: number; kinds?: readonly CaseKind[] } = {}): {
  index: number;
  kind: CaseKind;
}[] {
  let first = 0;
  return caseKinds.flatMap((kind) => {
    const from = first;
    first += caseCounts[kind];
    if (!kinds.includes(kind)) return [];
    return Array.from({ length: caseCounts[kind] }, (_, i) => ({ index: from + i, kind })).filter(
      (_, i) => i % every === 0,
    );
  });
}

/** Runs a search on cases, each on a fresh camera. */
export async function runSuite<Name extends string>({
  cases,
  runners,
  onOutcome,
}: {
  cases: readonly { index: number; kind: CaseKind }[];
  runners: Record<Name, FocusRunner>;
  onOutcome?: (name: Name, outcome: CaseOutcome) => void;
}): Promise<Record<Name, CaseOutcome[]>> {
  const names = Object.keys(runners) as Name[];
  const outcomes = Object.fromEntries(names.map((name) => [name, [] as CaseOutcome[]])) as Record<Name, CaseOutcome[]>;
  for (const { index, kind } of cases) {
    const drawn = focusCase(index, kind);
    for (const name of names) {
      const outcome = await runCase(drawn, runners[name]);
      outcomes[name].push(outcome);
      onOutcome?.(name, outcome);
    }
  }
  return outcomes;
}

async function runCase(focusCase: FocusCase, run: FocusRunner): Promise<CaseOutcome> {
  const open = focusCase.open();
  let drawingMs = 0;
  const camera = wrapCamera(open.camera, {
    async grab(options) {
      const before = processorMs();
      const frame = await open.camera.grab(options);
      drawingMs += processorMs() - before;
      return frame;
    },
  });
  const before = processorMs();
  const result = await run(focusCase, camera);
  const searchMs = processorMs() - before - drawingMs;
  const { halfWidthDpt, bestPowerDpt } = focusCase;
  const boundHalfWidths = focusCase.boundDpt(open.framePowersDpt) / halfWidthDpt;
  const errorHalfWidths =
    result.kind === 'found' ? ((await open.restingPowerDpt()) - bestPowerDpt) / halfWidthDpt : null;
  return { focusCase, result, errorHalfWidths, boundHalfWidths, searchMs };
}

const processorMs = (): number => {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
};
