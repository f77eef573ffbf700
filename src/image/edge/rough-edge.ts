import { type EdgeLine, edgeColumnPx, fitRows, lineTiltRad } from './edge-line.js';
import type { EdgePatch } from './edge-patch.js';

/** A first, coarse idea of the edge: enough to start the fit from. */
export interface RoughEdge {
  line: EdgeLine;
  darkDn: number;
  brightDn: number;
  /** Standard deviation of the line spread function along the normal. */
  blurStdPx: number;
  /** Median distance of the rows' own positions from the line. */
  rowScatterPx: number;
}

/**
 * Edge position per row by area: in a row that is dark on the left and bright on the right, the bright pixels' share tells
 * where the edge is, without differentiating. Then a robust line, and the blur from the area between the edge and a step.
 * Null if no row can be used.
 */
export function roughEdge(patch: EdgePatch): RoughEdge | null {
  const { rows, columns } = patch;
  const sums = sumsAlongRows(patch);
  const positions = new Float64Array(rows);
  const weights = new Float64Array(rows);
  let line: EdgeLine = { rows, coefficients: [(columns - 1) / 2] };
  let levels = levelsBeyond(sums, line, 0.4 * columns);
  let rowScatterPx = 0;
  for (let round = 0; round < 3; round++) {
    if (!(levels.bright > levels.dark)) return null;
    for (let row = 0; row < rows; row++) {
      const fromMiddle = row - (rows - 1) / 2;
      const dark = levels.dark + levels.darkPerRow * fromMiddle;
      const swing = levels.bright + levels.brightPerRow * fromMiddle - dark;
      const bright = (sums.between(row, 0, columns - 1) - columns * dark) / swing;
      positions[row] = columns - bright - 0.5;
      weights[row] = positions[row]! > 0 && positions[row]! < columns - 1 ? 1 : 0;
    }
    const fitted = robustLine(positions, weights);
    if (!fitted) return null;
    ({ line, rowScatterPx } = fitted);
    const room = roomPx(patch, line);
    levels = levelsBeyond(sums, line, 0.5 * room);
  }
  const blurStdPx = blurByArea(patch, sums, line, levels);
  return { line, darkDn: levels.dark, brightDn: levels.bright, blurStdPx, rowScatterPx };
}

/** How far the patch reaches across the edge, on the narrower side, in at least half of the rows. */
export function roomPx({ rows, columns }: EdgePatch, line: EdgeLine): number {
  const straight = line.coefficients.length <= 2;
  const middle = straight ? edgeColumnPx(line, rows >> 1) : medianColumnPx(line);
  return Math.min(middle, columns - 1 - middle) * Math.cos(lineTiltRad(line));
}

const medianColumnPx = (line: EdgeLine): number =>
  Float64Array.from({ length: line.rows }, (_, row) => edgeColumnPx(line, row)).sort()[line.rows >> 1]!;

function robustLine(positions: Float64Array, weights: Float64Array) {
  let fitted = fitRows(positions, weights, 1);
  let scatter = 0;
  for (let round = 0; round < 4 && fitted; round++) {
    const { line } = fitted;
    const distances = positions.map((p, row) => Math.abs(p - edgeColumnPx(line, row)));
    scatter = distances.slice().sort()[distances.length >> 1]!;
    const reach = Math.max(6 * scatter, 0.05);
    const robust = weights.map((w, row) =>
      w === 0 || distances[row]! > reach ? 0 : (1 - (distances[row]! / reach) ** 2) ** 2,
    );
    fitted = fitRows(positions, robust, 1);
  }
  return fitted && { line: fitted.line, rowScatterPx: scatter };
}

/** Sums of grey values along the rows of a patch. */
interface RowSums {
  rows: number;
  columns: number;
  /** Sum of the columns first … last of a row. */
  between(row: number, first: number, last: number): number;
}

function sumsAlongRows({ rows, columns, grey }: EdgePatch): RowSums {
  const stride = columns + 1;
  const upTo = new Float64Array(rows * stride);
  for (let row = 0; row < rows; row++) {
    let sum = 0;
    for (let column = 0; column < columns; column++) {
      sum += grey[row * columns + column]!;
      upTo[row * stride + column + 1] = sum;
    }
  }
  return {
    rows,
    columns,
    between: (row, first, last) => upTo[row * stride + last + 1]! - upTo[row * stride + first]!,
  };
}

/** Mean grey value farther than `from` from the edge (and nearer than `to`) on each side, and its change per row. */
function levelsBeyond(
  { rows, columns, between }: RowSums,
  line: EdgeLine,
  from: number,
  to = Number.POSITIVE_INFINITY,
) {
  const cos = Math.cos(lineTiltRad(line));
  const sides = [
    { n: 0, t: 0, tt: 0, y: 0, ty: 0 },
    { n: 0, t: 0, tt: 0, y: 0, ty: 0 },
  ];
  for (let row = 0; row < rows; row++) {
    const at = edgeColumnPx(line, row);
    const t = row - (rows - 1) / 2;
    const add = (side: 0 | 1, first: number, last: number) => {
      const start = Math.max(0, Math.ceil(first));
      const end = Math.min(columns - 1, Math.floor(last));
      if (end < start) return;
      const sum = between(row, start, end);
      const n = end - start + 1;
      const s = sides[side]!;
      s.n += n;
      s.t += n * t;
      s.tt += n * t * t;
      s.y += sum;
      s.ty += t * sum;
    };
    add(0, at - to / cos, at - from / cos);
    add(1, at + from / cos, at + to / cos);
  }
  const [dark, bright] = sides.map(({ n, t, tt, y, ty }) => {
    const slope = (n * ty - t * y) / (n * tt - t * t);
    return { mean: (y - slope * t) / n, perRow: slope };
  });
  return { dark: dark!.mean, darkPerRow: dark!.perRow, bright: bright!.mean, brightPerRow: bright!.perRow };
}

/** For a Gaussian edge the area between it and a step is 2σ/√(2π); summed in bins of the distance, so signs cancel noise. */
function blurByArea(patch: EdgePatch, sums: RowSums, line: EdgeLine, start: { dark: number; bright: number }): number {
  const { rows, columns } = patch;
  const cos = Math.cos(lineTiltRad(line));
  const room = roomPx(patch, line);
  let reach = 0.6 * room;
  let levels = start;
  let std = room / 4;
  for (let round = 0; round < 4; round++) {
    let area = 0;
    for (let row = 0; row < rows; row++) {
      const at = edgeColumnPx(line, row);
      const first = Math.max(0, Math.ceil(at - reach / cos));
      const last = Math.min(columns - 1, Math.floor(at + reach / cos));
      if (last < first) continue;
      // Columns left of the edge should be dark, the others bright.
      const darkEnd = Math.min(last, Math.max(first - 1, Math.ceil(at) - 1));
      const swing = levels.bright - levels.dark;
      const below = darkEnd < first ? 0 : sums.between(row, first, darkEnd) - (darkEnd - first + 1) * levels.dark;
      const above = darkEnd >= last ? 0 : (last - darkEnd) * levels.bright - sums.between(row, darkEnd + 1, last);
      area += (below + above) / swing;
    }
    std = Math.min(room / 2, Math.max(0.3, ((area * cos) / rows / 2) * Math.sqrt(2 * Math.PI)));
    reach = Math.min(0.8 * room, Math.max(3, 4 * std));
    levels = levelsBeyond(sums, line, Math.min(0.6 * room, Math.max(2, 3 * std)), Math.max(12, 8 * std));
  }
  return std;
}
