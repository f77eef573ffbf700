import { type Canvas, columnOf, cover, rowOf, xOfColumnMm, yOfRowMm } from './canvas.js';
import type { PointMm } from './paint-polygon.js';

/** Points per side of a cell at which the rim of a disc is asked for. */
const rimSamples = 4;

/**
 * Paints a disc, or with `innerRadiusMm` a ring.
 *
 * Model    cells at a rim are covered by the share of 4 × 4 points that lie inside
 * Checked  property: painted area equals the ring's within 2 %, tests/twin/scenes/paint.test.ts
 */
export function paintDisc(
  canvas: Canvas,
  { middle, radiusMm, innerRadiusMm = 0 }: { middle: PointMm; radiusMm: number; innerRadiusMm?: number },
  reflectance: number,
  opacity = 1,
): void {
  const { columnCount, rowCount, cellWidthMm, cellHeightMm } = canvas;
  const left = Math.max(0, Math.floor(columnOf(canvas, middle.xMm - radiusMm)));
  const right = Math.min(columnCount - 1, Math.ceil(columnOf(canvas, middle.xMm + radiusMm)));
  const top = Math.max(0, Math.floor(rowOf(canvas, middle.yMm - radiusMm)));
  const bottom = Math.min(rowCount - 1, Math.ceil(rowOf(canvas, middle.yMm + radiusMm)));
  const reachMm = Math.hypot(cellWidthMm, cellHeightMm) / 2;
  const outsideMm2 = (radiusMm + reachMm) ** 2;
  const wholeBelowMm2 = Math.max(0, radiusMm - reachMm) ** 2;
  const holeMm2 = Math.max(0, innerRadiusMm - reachMm) ** 2;
  const wholeAboveMm2 = innerRadiusMm === 0 ? 0 : (innerRadiusMm + reachMm) ** 2;
  for (let row = top; row <= bottom; row++) {
    const dy = yOfRowMm(canvas, row) - middle.yMm;
    for (let column = left; column <= right; column++) {
      const dx = xOfColumnMm(canvas, column) - middle.xMm;
      const squareMm2 = dx * dx + dy * dy;
      if (squareMm2 >= outsideMm2 || squareMm2 < holeMm2) continue;
      const whole = squareMm2 <= wholeBelowMm2 && squareMm2 >= wholeAboveMm2;
      const share = whole ? 1 : rimShare(dx, dy, cellWidthMm, cellHeightMm, innerRadiusMm, radiusMm);
      cover(canvas, row * columnCount + column, reflectance, share * opacity);
    }
  }
}

function rimShare(dx: number, dy: number, widthMm: number, heightMm: number, innerMm: number, outerMm: number): number {
  let inside = 0;
  for (let i = 0; i < rimSamples; i++) {
    const y = dy + ((i + 0.5) / rimSamples - 0.5) * heightMm;
    for (let j = 0; j < rimSamples; j++) {
      const x = dx + ((j + 0.5) / rimSamples - 0.5) * widthMm;
      const squareMm2 = x * x + y * y;
      if (squareMm2 <= outerMm * outerMm && squareMm2 >= innerMm * innerMm) inside++;
    }
  }
  return inside / rimSamples ** 2;
}
