import { type Canvas, columnOf, rowOf } from './canvas.js';

/** One layer of a surface's grain. */
export interface GrainLayer {
  /** Distance between two independent values. */
  sizeMm: number;
  /** Standard deviation of the reflectance. */
  strengthRatio: number;
}

/**
 * A seeded, uneven surface: layers of smooth noise of given grain sizes around a mean reflectance, fixed in place on the
 * object plane. Fills the whole canvas.
 *
 * Model    value noise: hashed normal-like values on a lattice, bilinear with smooth weights; a layer finer than the canvas
 *          resolves is averaged (its strength falls with the cell's size)
 */
export function paintGrain(
  canvas: Canvas,
  { mean, seed, layers }: { mean: number; seed: number; layers: readonly GrainLayer[] },
): void {
  const { columnCount, rowCount, reflectance } = canvas;
  const rowAdders = layers.map(({ sizeMm, strengthRatio }, layer) => {
    const step = sizeMm / canvas.cellWidthMm;
    const strength = (strengthRatio * Math.min(1, step) * 1.5) / rmsOfHash;
    const layerSeed = (seed + Math.imul(layer + 1, 0x9e3779b1)) | 0;
    const places = latticePlaces(columnCount, columnOf(canvas, 0), step);
    const line = new Float32Array(places.cells[columnCount - 1]! + 2);
    return (values: Float32Array, row: number) => {
      const place = ((row - rowOf(canvas, 0)) * canvas.cellHeightMm) / sizeMm;
      const low = Math.floor(place);
      const v = smooth(place - low);
      for (let i = 0; i < line.length; i++) line[i] = strength * mixed(places.firstCell + i, low, v, layerSeed);
      addBetween(values, line, places.cells, places.shares);
    };
  });
  for (let row = 0; row < rowCount; row++) {
    const values = reflectance.subarray(row * columnCount, (row + 1) * columnCount);
    values.fill(mean);
    for (const addRow of rowAdders) addRow(values, row);
    for (let i = 0; i < columnCount; i++) {
      values[i] = Math.max(0.02, Math.min(1, values[i]!));
    }
  }
}

function addBetween(values: Float32Array, line: Float32Array, cells: Int32Array, shares: Float32Array): void {
  for (let i = 0; i < values.length; i++) {
    const cell = cells[i]!;
    const left = line[cell]!;
    values[i]! += left + shares[i]! * (line[cell + 1]! - left);
  }
}

/** For each column: the lattice point before it, counted from the first one, and the weight of the next. */
function latticePlaces(columnCount: number, originX: number, step: number) {
  const firstCell = Math.floor(-originX / step);
  const cells = new Int32Array(columnCount);
  const shares = new Float32Array(columnCount);
  for (let column = 0; column < columnCount; column++) {
    const place = (column - originX) / step;
    cells[column] = Math.floor(place) - firstCell;
    shares[column] = smooth(place - Math.floor(place));
  }
  return { firstCell, cells, shares };
}

/** Of a hashed value: uniform on −1 … 1. */
const rmsOfHash = 1 / Math.sqrt(3);

const smooth = (t: number): number => t * t * (3 - 2 * t);

function mixed(x: number, y: number, v: number, seed: number): number {
  const upper = hashed(x, y, seed);
  return upper + v * (hashed(x, y + 1, seed) - upper);
}

/** A value −1 … 1 that depends on place and seed alone. */
function hashed(x: number, y: number, seed: number): number {
  let h = Math.imul(x, 0x27d4eb2f) ^ Math.imul(y, 0x165667b1) ^ seed;
  h = Math.imul(h ^ (h >>> 15), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 2147483648 - 1;
}
