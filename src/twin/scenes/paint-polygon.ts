import { type Canvas, columnOf, cover, rowOf, xOfColumnMm, yOfRowMm } from './canvas.js';

/** A point on the object plane. */
export interface PointMm {
  xMm: number;
  yMm: number;
}

/**
 * Paints a convex polygon, corners clockwise as seen (y down).
 *
 * Model    the share of each cell that the polygon covers is exact: its edges are as straight as the canvas allows
 * Checked  property: painted area equals the polygon's, tests/twin/scenes/paint.test.ts
 */
export function paintPolygon(canvas: Canvas, corners: readonly PointMm[], reflectance: number): void {
  const { columnCount, rowCount, cellWidthMm, cellHeightMm } = canvas;
  const left = Math.max(0, Math.floor(columnOf(canvas, Math.min(...corners.map(({ xMm }) => xMm)))));
  const right = Math.min(columnCount - 1, Math.ceil(columnOf(canvas, Math.max(...corners.map(({ xMm }) => xMm)))));
  const top = Math.max(0, Math.floor(rowOf(canvas, Math.min(...corners.map(({ yMm }) => yMm)))));
  const bottom = Math.min(rowCount - 1, Math.ceil(rowOf(canvas, Math.max(...corners.map(({ yMm }) => yMm)))));
  const edges = corners.map((from, i) => edgeBetween(from, corners[(i + 1) % corners.length]!));
  const reachMm = Math.hypot(cellWidthMm, cellHeightMm) / 2;
  for (let row = top; row <= bottom; row++) {
    const yMm = yOfRowMm(canvas, row);
    for (let column = left; column <= right; column++) {
      const xMm = xOfColumnMm(canvas, column);
      let insideMm = Number.POSITIVE_INFINITY;
      for (const { nx, ny, offsetMm } of edges) insideMm = Math.min(insideMm, nx * xMm + ny * yMm - offsetMm);
      if (insideMm <= -reachMm) continue;
      const share = insideMm >= reachMm ? 1 : cellShare(edges, xMm, yMm, cellWidthMm, cellHeightMm);
      if (share > 0) cover(canvas, row * columnCount + column, reflectance, share);
    }
  }
}

/** A square that is turned about its middle. */
export function turnedSquare({
  middle,
  sideMm,
  angleDeg,
}: {
  middle: PointMm;
  sideMm: number;
  angleDeg: number;
}): PointMm[] {
  const angle = (angleDeg * Math.PI) / 180;
  const half = sideMm / 2;
  return [
    [-half, -half],
    [half, -half],
    [half, half],
    [-half, half],
  ].map(([x, y]) => ({
    xMm: middle.xMm + x! * Math.cos(angle) - y! * Math.sin(angle),
    yMm: middle.yMm + x! * Math.sin(angle) + y! * Math.cos(angle),
  }));
}

/** An edge as the half plane to its right (inside), n·p ≥ offset. */
interface Edge {
  nx: number;
  ny: number;
  offsetMm: number;
}

function edgeBetween(from: PointMm, to: PointMm): Edge {
  const length = Math.hypot(to.xMm - from.xMm, to.yMm - from.yMm);
  const nx = -(to.yMm - from.yMm) / length;
  const ny = (to.xMm - from.xMm) / length;
  return { nx, ny, offsetMm: nx * from.xMm + ny * from.yMm };
}

/** Share of a cell inside all half planes: the cell is cut by one after the other. */
function cellShare(edges: readonly Edge[], xMm: number, yMm: number, widthMm: number, heightMm: number): number {
  let polygon = turnedRectangle(xMm, yMm, widthMm, heightMm);
  for (const edge of edges) polygon = cut(polygon, edge);
  return areaMm2(polygon) / (widthMm * heightMm);
}

const turnedRectangle = (xMm: number, yMm: number, widthMm: number, heightMm: number): PointMm[] => [
  { xMm: xMm - widthMm / 2, yMm: yMm - heightMm / 2 },
  { xMm: xMm + widthMm / 2, yMm: yMm - heightMm / 2 },
  { xMm: xMm + widthMm / 2, yMm: yMm + heightMm / 2 },
  { xMm: xMm - widthMm / 2, yMm: yMm + heightMm / 2 },
];

function cut(polygon: readonly PointMm[], { nx, ny, offsetMm }: Edge): PointMm[] {
  const kept: PointMm[] = [];
  for (let i = 0; i < polygon.length; i++) {
    const a = polygon[i]!;
    const b = polygon[(i + 1) % polygon.length]!;
    const insideA = nx * a.xMm + ny * a.yMm - offsetMm;
    const insideB = nx * b.xMm + ny * b.yMm - offsetMm;
    if (insideA >= 0) kept.push(a);
    if (insideA >= 0 !== insideB >= 0) {
      const t = insideA / (insideA - insideB);
      kept.push({ xMm: a.xMm + t * (b.xMm - a.xMm), yMm: a.yMm + t * (b.yMm - a.yMm) });
    }
  }
  return kept;
}

function areaMm2(polygon: readonly PointMm[]): number {
  let twice = 0;
  for (let i = 0; i < polygon.length; i++) {
    const a = polygon[i]!;
    const b = polygon[(i + 1) % polygon.length]!;
    twice += a.xMm * b.yMm - b.xMm * a.yMm;
  }
  return Math.abs(twice) / 2;
}
