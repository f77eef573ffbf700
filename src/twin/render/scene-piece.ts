import type { Scene } from '../scenes/index.js';
import type { RenderGrid } from './render-grid.js';

/**
 * Paints the piece of the object plane that a grid describes and joins its opposite borders, so that it repeats without a
 * step.
 *
 * Input    `seamMm`: width of the strip along each border in which both borders pass into their common mean.
 */
export function paintPiece({ scene, grid, seamMm }: { scene: Scene; grid: RenderGrid; seamMm: number }): Float32Array {
  const columnCount = grid.gridColumnCount;
  const rowCount = grid.gridRowCount;
  const reflectance = new Float32Array(columnCount * rowCount);
  const cellWidthMm = grid.periodWidthMm / columnCount;
  const cellHeightMm = grid.periodHeightMm / rowCount;
  scene.paint({ columnCount, rowCount, cellWidthMm, cellHeightMm, reflectance });
  for (let row = 0; row < rowCount; row++) {
    joinEnds(reflectance, row * columnCount, 1, columnCount, Math.round(seamMm / cellWidthMm));
  }
  for (let column = 0; column < columnCount; column++) {
    joinEnds(reflectance, column, columnCount, rowCount, Math.round(seamMm / cellHeightMm));
  }
  return reflectance;
}

function joinEnds(values: Float32Array, from: number, step: number, count: number, seam: number): void {
  for (let i = 0; i < seam; i++) {
    const low = from + i * step;
    const high = from + (count - 1 - i) * step;
    const share = 0.5 * (1 - i / seam);
    const a = values[low]!;
    const b = values[high]!;
    values[low] = a + share * (b - a);
    values[high] = b + share * (a - b);
  }
}
