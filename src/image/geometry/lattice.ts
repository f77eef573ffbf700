/** A point of a target as found in a picture. */
export interface GridPoint {
  xPx: number;
  yPx: number;
}

/** A point with its place in the target's grid. */
export interface LatticePoint extends GridPoint {
  column: number;
  row: number;
}

/** How far a neighbour may lie from where it is expected, as a share of the step. */
const slack = 0.28;

/**
 * Finds which points make a square grid, and each one's column and row.
 *
 * Model    from a seed the grid grows from neighbour to neighbour; each next step is expected like the last one in its
 *          direction, so that turn, perspective and distortion are followed and missing points are gone around
 * Returns  the largest grid of several seeds; columns run to the right, rows downwards, (0, 0) at the seed; empty where none
 *          has nine points
 */
export function latticeOf(points: readonly GridPoint[]): LatticePoint[] {
  if (points.length < 9) return [];
  const middleX = points.reduce((sum, p) => sum + p.xPx, 0) / points.length;
  const middleY = points.reduce((sum, p) => sum + p.yPx, 0) / points.length;
  const near = [...points].sort(
    (a, b) => Math.hypot(a.xPx - middleX, a.yPx - middleY) - Math.hypot(b.xPx - middleX, b.yPx - middleY),
  );
  let best: LatticePoint[] = [];
  for (const seed of near.slice(0, 12)) {
    const grown = growFrom(seed, points);
    if (grown.length > best.length) best = grown;
    if (best.length > 0.8 * points.length) break;
  }
  return best.length < 9 ? [] : best;
}

type Step = [dx: number, dy: number];

function growFrom(seed: GridPoint, points: readonly GridPoint[]): LatticePoint[] {
  const basis = basisAt(seed, points);
  if (basis === null) return [];
  const cell = Math.max(2, Math.hypot(...basis[0]));
  const hash = new Map<string, GridPoint[]>();
  for (const point of points) {
    const key = `${Math.floor(point.xPx / cell)} ${Math.floor(point.yPx / cell)}`;
    hash.set(key, [...(hash.get(key) ?? []), point]);
  }
  const nearest = (x: number, y: number, reach: number): GridPoint | null => {
    let found: GridPoint | null = null;
    let least = reach;
    for (let i = -1; i <= 1; i++) {
      for (let j = -1; j <= 1; j++) {
        for (const point of hash.get(`${Math.floor(x / cell) + i} ${Math.floor(y / cell) + j}`) ?? []) {
          const far = Math.hypot(point.xPx - x, point.yPx - y);
          if (far < least) [found, least] = [point, far];
        }
      }
    }
    return found;
  };
  const placed = new Map<string, LatticePoint & { steps: [Step, Step] }>();
  const taken = new Set<GridPoint>([seed]);
  const first = { xPx: seed.xPx, yPx: seed.yPx, column: 0, row: 0, steps: basis };
  placed.set('0 0', first);
  const queue = [first];
  for (let head = 0; head < queue.length; head++) {
    const from = queue[head]!;
    for (const [axis, direction] of [
      [0, 1],
      [0, -1],
      [1, 1],
      [1, -1],
    ] as const) {
      const column = from.column + (axis === 0 ? direction : 0);
      const row = from.row + (axis === 1 ? direction : 0);
      if (placed.has(`${column} ${row}`)) continue;
      const [dx, dy] = from.steps[axis];
      const found = nearest(from.xPx + direction * dx, from.yPx + direction * dy, slack * Math.hypot(dx, dy));
      if (found === null || taken.has(found)) continue;
      taken.add(found);
      const step: Step = [direction * (found.xPx - from.xPx), direction * (found.yPx - from.yPx)];
      const steps: [Step, Step] = axis === 0 ? [step, from.steps[1]] : [from.steps[0], step];
      const next = { xPx: found.xPx, yPx: found.yPx, column, row, steps };
      placed.set(`${column} ${row}`, next);
      queue.push(next);
    }
  }
  return [...placed.values()].map(({ xPx, yPx, column, row }) => ({ xPx, yPx, column, row }));
}

/** The steps to the right and down at a point, from its nearest neighbours; null where they make no square grid. */
function basisAt(seed: GridPoint, points: readonly GridPoint[]): [Step, Step] | null {
  const steps = points
    .filter((point) => point !== seed)
    .map((point): Step => [point.xPx - seed.xPx, point.yPx - seed.yPx])
    .sort((a, b) => Math.hypot(...a) - Math.hypot(...b))
    .slice(0, 8);
  const first = steps[0];
  if (!first) return null;
  const length = Math.hypot(...first);
  const second = steps.find(([x, y]) => {
    const sine = Math.abs(first[0] * y - first[1] * x) / (length * Math.hypot(x, y));
    return sine > 0.8 && Math.hypot(x, y) < 1.4 * length;
  });
  if (!second) return null;
  const [across, down] =
    Math.abs(first[0]) * Math.hypot(...second) >= Math.abs(second[0]) * length ? [first, second] : [second, first];
  const turned = (step: Step, positive: boolean): Step => (positive ? step : [-step[0], -step[1]]);
  return [turned(across, across[0] > 0), turned(down, down[1] > 0)];
}
