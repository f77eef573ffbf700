import { type Margins, stageMargin, stages } from './requirements.js';

/** Twice what is needed counts as plenty: beyond it a margin no longer speaks for a layout. */
const plenty = 1;

/**
 * Which layouts no other one beats: none has at least as much margin at every requirement and more at one.
 *
 * Model    margins of reach, field, sampling, corner light, contrast, focus, light and cycle, each counted up to 1
 * Returns  one flag for each layout; equal layouts are all on the front
 * Cost     layouts × those on the front
 * Checked  property: tests/planning/search/pareto-front.test.ts
 */
export function paretoFront(layouts: readonly Margins[]): boolean[] {
  const points = layouts.map((margins) => stages.map((stage) => Math.min(plenty, stageMargin(margins, stage))));
  const total = (point: readonly number[]) => point.reduce((sum, value) => sum + value, 0);
  // What beats a point has a larger total, so it comes before it.
  const order = points.map((point, i) => ({ point, i, total: total(point) })).sort((a, b) => b.total - a.total);
  const front: number[][] = [];
  const flags = points.map(() => false);
  for (const { point, i } of order) {
    if (front.some((other) => beats(other, point))) continue;
    front.push(point);
    flags[i] = true;
  }
  return flags;
}

function beats(a: readonly number[], b: readonly number[]): boolean {
  let more = false;
  for (let i = 0; i < a.length; i++) {
    if (a[i]! < b[i]!) return false;
    more ||= a[i]! > b[i]!;
  }
  return more;
}
