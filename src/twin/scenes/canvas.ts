/**
 * A piece of the object plane as cells of reflectance (0 … 1). Positions in mm from the middle of the field, x to the right
 * and y down as on the sensor. A cell holds the mean over its area, so that what is painted has no jagged edges.
 */
export interface Canvas {
  columnCount: number;
  rowCount: number;
  cellWidthMm: number;
  cellHeightMm: number;
  reflectance: Float32Array;
}

/** What lies before the lens, in true size. */
export interface Scene {
  readonly name: string;
  /** Paints the plane over the whole canvas, whatever piece and resolution it has; the same every time. */
  paint(canvas: Canvas): void;
}

/** Column (not whole) of a position: the middle of column i lies at i. */
export const columnOf = (canvas: Canvas, xMm: number): number =>
  xMm / canvas.cellWidthMm + (canvas.columnCount - 1) / 2;

/** Row (not whole) of a position. */
export const rowOf = (canvas: Canvas, yMm: number): number => yMm / canvas.cellHeightMm + (canvas.rowCount - 1) / 2;

/** Position of the middle of a column. */
export const xOfColumnMm = (canvas: Canvas, column: number): number =>
  (column - (canvas.columnCount - 1) / 2) * canvas.cellWidthMm;

/** Position of the middle of a row. */
export const yOfRowMm = (canvas: Canvas, row: number): number =>
  (row - (canvas.rowCount - 1) / 2) * canvas.cellHeightMm;

/** Lays `reflectance` over one cell, covering the part `share` of it. */
export function cover(canvas: Canvas, index: number, reflectance: number, share: number): void {
  const under = canvas.reflectance[index]!;
  canvas.reflectance[index] = under + share * (reflectance - under);
}
