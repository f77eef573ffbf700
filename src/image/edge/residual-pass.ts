import { type EdgeLine, edgeColumnPx, lineTiltRad } from './edge-line.js';
import type { EdgeTables } from './edge-model.js';
import type { EdgePatch } from './edge-patch.js';

/** Grey levels and noise of the two sides. */
export interface EdgeLevels {
  darkDn: number;
  brightDn: number;
  darkVarianceDn2: number;
  brightVarianceDn2: number;
}

/** Variance of one pixel's grey value at a level 0 … 1 between the sides: linear, as photon noise is, and never below rounding's. */
const varianceAt = (levels: EdgeLevels, level: number): number =>
  Math.max(roundingVarianceDn2, scatterAt(levels, level));

const scatterAt = ({ darkVarianceDn2, brightVarianceDn2 }: EdgeLevels, level: number): number =>
  darkVarianceDn2 + (brightVarianceDn2 - darkVarianceDn2) * Math.min(1, Math.max(0, level));

/** Variance that rounding to whole grey values adds. */
const roundingVarianceDn2 = 1 / 12;

/**
 * Weight of one sample in each grid bin: 1/variance. Where noise is too small to dither the rounding to whole grey values,
 * all samples of a plateau carry the same rounding error: together they then weigh no more than one of that variance.
 */
export function sampleWeights(
  levels: EdgeLevels,
  { esf, lsf, size, stepPx }: EdgeTables,
  counts: Float64Array,
): Float64Array {
  const perBin = (levels.brightDn - levels.darkDn) * stepPx;
  const flat = (k: number) => perBin * Math.abs(lsf[k]!) < 0.05;
  const weights = new Float64Array(size);
  const dithered = Math.min(levels.darkVarianceDn2, levels.brightVarianceDn2) > ditheredVarianceDn2;
  if (dithered) {
    for (let k = 0; k < size; k++) weights[k] = 1 / varianceAt(levels, esf[k]!);
    return weights;
  }
  const flatBins = [0, 0];
  for (let k = 0; k < size; k++) if (counts[k]! > 0 && flat(k)) flatBins[k < size / 2 ? 0 : 1]!++;
  for (let k = 0; k < size; k++) {
    // Dither: the mean rounding error left by Gaussian noise falls as exp(−2π²·variance).
    const left = flat(k) ? roundingVarianceDn2 * Math.exp(-4 * Math.PI ** 2 * scatterAt(levels, esf[k]!)) : 0;
    weights[k] = 1 / (varianceAt(levels, esf[k]!) + counts[k]! * left * flatBins[k < size / 2 ? 0 : 1]!);
  }
  return weights;
}

/** With this noise on both sides no more than e^−40 of the rounding error is left. */
const ditheredVarianceDn2 = 1;

/** Residuals of the patch against a model, summed up in one pass. */
export interface ResidualSums {
  /** Per grid bin of the tables: number of samples, sum of residuals, sum of their squares. */
  counts: Float64Array;
  sums: Float64Array;
  squares: Float64Array;
  /** Per row: how far the edge lies to the right of the line, and the weight (1/variance) of that number. */
  shiftsPx: Float64Array;
  shiftWeights: Float64Array;
}

/** The bins that samples fell into, from the first to the last. */
export function usedBins(counts: Float64Array): { from: number; to: number } {
  let [from, to] = [0, counts.length];
  while (from < to && counts[from] === 0) from++;
  while (to > from && counts[to - 1] === 0) to--;
  return { from, to };
}

/**
 * Goes over all pixels within reachPx of the line (of every rowStep-th row) and sums residual = grey − (dark + (bright − dark)·ESF(d)).
 * The row shift is the weighted least-squares shift of the model with a free offset, so that light that varies along the
 * edge does not move it.
 */
export function residualPass(
  patch: EdgePatch,
  line: EdgeLine,
  levels: EdgeLevels,
  { stepPx, size, esf, lsf }: EdgeTables,
  reachPx: number,
  rowStep = 1,
): ResidualSums {
  const { rows, columns, grey } = patch;
  const { darkDn, brightDn } = levels;
  const swing = brightDn - darkDn;
  const cos = Math.cos(lineTiltRad(line));
  const counts = new Float64Array(size);
  const sums = new Float64Array(size);
  const squares = new Float64Array(size);
  const shiftsPx = new Float64Array(rows);
  const shiftWeights = new Float64Array(rows);
  const weights = new Float64Array(size);
  for (let k = 0; k < size; k++) weights[k] = 1 / varianceAt(levels, esf[k]!);
  const perColumn = cos / stepPx;
  for (let row = rowStep >> 1; row < rows; row += rowStep) {
    const at = edgeColumnPx(line, row);
    const first = Math.max(0, Math.ceil(at - reachPx / cos));
    const last = Math.min(columns - 1, Math.floor(at + reachPx / cos));
    let w0 = 0;
    let w1 = 0;
    let w2 = 0;
    let r0 = 0;
    let r1 = 0;
    let place = (first - at) * perColumn + size / 2;
    const base = row * columns;
    for (let column = first; column <= last; column++, place += perColumn) {
      const below = place | 0;
      const part = place - below;
      const level = esf[below]! + part * (esf[below + 1]! - esf[below]!);
      const residual = grey[base + column]! - darkDn - swing * level;
      const bin = (place + 0.5) | 0;
      counts[bin] = counts[bin]! + 1;
      sums[bin] = sums[bin]! + residual;
      squares[bin] = squares[bin]! + residual * residual;
      const slope = lsf[below]! + part * (lsf[below + 1]! - lsf[below]!);
      const w = weights[bin]!;
      w0 += w;
      w1 += w * slope;
      w2 += w * slope * slope;
      r0 += w * residual;
      r1 += w * residual * slope;
    }
    const information = w0 > 0 ? w2 - (w1 * w1) / w0 : 0;
    if (information <= 1e-9 * w2) continue;
    shiftsPx[row] = -(r1 - (w1 * r0) / w0) / (information * swing * cos);
    shiftWeights[row] = information * (swing * cos) ** 2;
  }
  return { counts, sums, squares, shiftsPx, shiftWeights };
}
