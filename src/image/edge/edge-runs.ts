import { edgeKinds, type GradientMap } from './gradient-map.js';

/** A straight run of one edge on the binned grid, turned so that it runs down the "rows" whichever its orientation. */
export interface EdgeRun {
  nearVertical: boolean;
  /** First and last binned row of the run. */
  first: number;
  last: number;
  /** Binned column of the edge at a binned row: intercept + slope·row. */
  intercept: number;
  slope: number;
  /** Half the width over which the gradient is felt, in bins. */
  halfWidth: number;
  /** Plain bins on the narrower side, beyond the edge's own width. */
  margin: number;
  /** Root mean square gradient on the edge. */
  strengthDn: number;
}

/** Connected runs of one kind that follow a straight line, the strongest first. */
export function edgeRuns(map: GradientMap): EdgeRun[] {
  const seen = new Uint8Array(map.kind.length);
  const runs: EdgeRun[] = [];
  for (let i = 0; i < map.kind.length; i++) {
    const kind = map.kind[i]!;
    if (seen[i] || kind === 0 || kind & edgeKinds.other) continue;
    const member = connected(map, seen, i);
    const run = straightRun(map, member, (kind & edgeKinds.nearVertical) !== 0);
    if (run) runs.push(run);
  }
  return runs.sort((a, b) => b.strengthDn * Math.sqrt(b.last - b.first) - a.strengthDn * Math.sqrt(a.last - a.first));
}

function connected({ kind, columns }: GradientMap, seen: Uint8Array, start: number): number[] {
  const wanted = kind[start]!;
  const members = [start];
  seen[start] = 1;
  for (let k = 0; k < members.length; k++) {
    for (const dy of [-columns, 0, columns]) {
      for (const dx of [-1, 0, 1]) {
        const j = members[k]! + dx + dy;
        if (kind[j] !== wanted || seen[j]) continue;
        seen[j] = 1;
        members.push(j);
      }
    }
  }
  return members;
}

/** Energy-weighted centre per binned row, a line through the centres, and the longest stretch that keeps to it. */
function straightRun(map: GradientMap, members: readonly number[], nearVertical: boolean): EdgeRun | null {
  const { columns, rows, energy } = map;
  const along = (i: number) => (nearVertical ? Math.floor(i / columns) : i % columns);
  const across = (i: number) => (nearVertical ? i % columns : Math.floor(i / columns));
  const length = nearVertical ? rows : columns;
  const sums = Array.from({ length }, () => ({ weight: 0, moment: 0, low: Number.POSITIVE_INFINITY, high: -1 }));
  let total = 0;
  for (const i of members) {
    const row = sums[along(i)]!;
    row.weight += energy[i]!;
    row.moment += energy[i]! * across(i);
    row.low = Math.min(row.low, across(i));
    row.high = Math.max(row.high, across(i));
    total += energy[i]!;
  }
  const present = sums.flatMap(({ weight, moment }, row) => (weight > 0 ? [{ row, centre: moment / weight }] : []));
  if (present.length < 6) return null;
  let { slope, intercept } = lineThrough(present);
  const close = present.filter(({ row, centre }) => Math.abs(centre - intercept - slope * row) < 1.5);
  if (close.length < 6) return null;
  ({ slope, intercept } = lineThrough(close));
  const [first, last] = longestStretch(close.map(({ row }) => row));
  const stretch = sums.slice(first, last + 1);
  const halfWidth = stretch.reduce((sum, { low, high }) => sum + (high - low + 1) / 2, 0) / stretch.length;
  const ends = Math.ceil(halfWidth / 2) + 1;
  if (last - first + 1 - 2 * ends < 6) return null;
  const run = { nearVertical, first: first + ends, last: last - ends, intercept, slope, halfWidth };
  const margin = plainMargin(map, new Set(members), run);
  return { ...run, margin, strengthDn: Math.sqrt(total / members.length) };
}

function lineThrough(points: readonly { row: number; centre: number }[]) {
  const n = points.length;
  const meanRow = points.reduce((sum, p) => sum + p.row, 0) / n;
  const meanCentre = points.reduce((sum, p) => sum + p.centre, 0) / n;
  const spread = points.reduce((sum, p) => sum + (p.row - meanRow) ** 2, 0);
  const slope = points.reduce((sum, p) => sum + (p.row - meanRow) * (p.centre - meanCentre), 0) / spread;
  return { slope, intercept: meanCentre - slope * meanRow };
}

function longestStretch(rows: readonly number[]): [number, number] {
  let best: [number, number] = [rows[0]!, rows[0]!];
  let start = rows[0]!;
  rows.forEach((row, k) => {
    if (k > 0 && row !== rows[k - 1]! + 1) start = row;
    if (row - start > best[1] - best[0]) best = [start, row];
  });
  return best;
}

/** Bins on the narrower side between the edge's own width and the next edge or the frame, along the whole run. */
function plainMargin(
  { kind, columns, rows }: GradientMap,
  own: ReadonlySet<number>,
  run: Pick<EdgeRun, 'nearVertical' | 'first' | 'last' | 'intercept' | 'slope' | 'halfWidth'>,
): number {
  const width = run.nearVertical ? columns : rows;
  const most = Math.ceil(Math.max(8, 4 * run.halfWidth));
  const blocked = (row: number, column: number) => {
    if (column < 0 || column >= width) return true;
    const i = run.nearVertical ? row * columns + column : column * columns + row;
    return kind[i] !== 0 && !own.has(i);
  };
  // Nearer than this lie the edge's own tails, which may look like another direction.
  const tails = Math.ceil(0.6 * run.halfWidth) + 2;
  for (let margin = tails; margin <= most; margin++) {
    for (let row = run.first; row <= run.last; row++) {
      const centre = run.intercept + run.slope * row;
      const reach = run.halfWidth + margin;
      if (blocked(row, Math.round(centre - reach)) || blocked(row, Math.round(centre + reach))) return margin - 1;
    }
  }
  return most;
}
