import type { CaseKind } from './case-kinds.js';
import { type CaseOutcome, isRight } from './run-suite.js';

/** The rows of the table: kinds taken together, and what the row is about. */
const groups: readonly { name: string; holds: (outcome: CaseOutcome) => boolean }[] = [
  ...(['well-exposed', 'low-light', 'dim', 'moving-scene', 'flicker'] satisfies CaseKind[]).map((kind) => ({
    name: kind,
    holds: ({ focusCase }: CaseOutcome) => focusCase.kind === kind,
  })),
  {
    name: 'no-texture, black, saturated',
    holds: ({ focusCase: { kind } }) => kind === 'no-texture' || kind === 'black' || kind === 'saturated',
  },
  ...(['two-planes', 'out-of-range', 'stuck-lens', 'same-frames', 'wrong-direction'] satisfies CaseKind[]).map(
    (kind) => ({ name: kind, holds: ({ focusCase }: CaseOutcome) => focusCase.kind === kind }),
  ),
];

/** Quantile by the nearest rank; NaN of nothing. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.max(0, Math.ceil(share * sorted.length) - 1))] ?? Number.NaN;
}

/** What a run of the suite came to, one row for each kind of case. */
export function suiteTable(name: string, outcomes: readonly CaseOutcome[]): string {
  const heading = `| ${name} | cases | right | wrong | refused | frames median / p95 | time median | error median / p95 | error / bound |`;
  const rows = groups.flatMap(({ name: group, holds }) => {
    const held = outcomes.filter(holds);
    return held.length === 0 ? [] : [row(group, held)];
  });
  const found = outcomes.filter(({ focusCase }) => focusCase.answer === 'found');
  return [
    heading,
    '| --- | --: | --: | --: | --: | --: | --: | --: | --: |',
    ...rows,
    '',
    ...summary(found, outcomes),
  ].join('\n');
}

function row(group: string, held: readonly CaseOutcome[]): string {
  const right = held.filter(isRight).length;
  const refused = held.filter(({ result }) => result.kind === 'refused').length;
  const wrong = held.filter((outcome) => outcome.result.kind === 'found' && !isRight(outcome)).length;
  const errors = held.flatMap(({ errorHalfWidths }) => (errorHalfWidths === null ? [] : [Math.abs(errorHalfWidths)]));
  const ratios = held.flatMap(({ errorHalfWidths, boundHalfWidths }) =>
    errorHalfWidths === null ? [] : [Math.abs(errorHalfWidths) / boundHalfWidths],
  );
  const frames = held.map(({ result }) => result.frames);
  const cells = [
    group,
    held.length,
    `${((100 * right) / held.length).toFixed(1)} %`,
    wrong,
    refused,
    `${quantile(frames, 0.5)} / ${quantile(frames, 0.95)}`,
    `${quantile(
      held.map(({ result }) => result.elapsedMs),
      0.5,
    ).toFixed(0)} ms`,
    errors.length === 0 ? '–' : `${quantile(errors, 0.5).toFixed(3)} / ${quantile(errors, 0.95).toFixed(3)}`,
    ratios.length === 0 ? '–' : quantile(ratios, 0.5).toFixed(1),
  ];
  return `| ${cells.join(' | ')} |`;
}

function summary(found: readonly CaseOutcome[], all: readonly CaseOutcome[]): string[] {
  const timed = found.filter(({ focusCase, result }) => focusCase.responseMs === 25 && result.kind === 'found');
  const claims = [
    [0.9, 0.97],
    [0.97, 0.99],
    [0.99, 1.01],
  ].flatMap(([low, high]) => {
    const held = all.flatMap((outcome) =>
      outcome.result.kind === 'found' &&
      outcome.result.probabilityInFocus !== null &&
      outcome.result.probabilityInFocus >= low! &&
      outcome.result.probabilityInFocus < high!
        ? [outcome]
        : [],
    );
    if (held.length === 0) return [];
    const right = held.filter(isRight).length;
    return [
      `${low} … ${Math.min(1, high!)}: ${right} of ${held.length} right (${((100 * right) / held.length).toFixed(1)} %)`,
    ];
  });
  const frameCount = all.reduce((sum, { result }) => sum + result.frames, 0);
  const searchMs = all.reduce((sum, outcome) => sum + outcome.searchMs, 0);
  const multiples = timed.map(({ focusCase, result }) => {
    const { controls, parts } = focusCase.station;
    return result.elapsedMs / (focusCase.responseMs + controls.exposureMs + parts.sensor.readoutMs);
  });
  return [
    `lens settling in 25 ms (to 2 %), 100 frames/s: ${quantile(
      timed.map(({ result }) => result.elapsedMs),
      0.5,
    ).toFixed(0)} ms median, ${quantile(multiples, 0.5).toFixed(1)} × (settling + exposure + readout)`,
    `claimed probability: ${claims.length === 0 ? 'none' : claims.join('; ')}`,
    `processor time of the search: ${(searchMs / frameCount).toFixed(2)} ms a frame`,
  ];
}
