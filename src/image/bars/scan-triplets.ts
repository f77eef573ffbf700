import type { BarLevel } from './bar-levels.js';
import type { PixelNoise } from './pixel-noise.js';

/** Three bars met on one row of a level. Places and widths in blocks. */
export interface TripletHit {
  row: number;
  centre: number;
  barWidth: number;
  /** Bars brighter than what lies between them. */
  bright: boolean;
  /** Grey value of the bars minus that of the spaces. */
  depthDn: number;
}

/** How one level is scanned. */
export interface ScanSettings {
  /** Bar widths that are looked for, in blocks. */
  least: number;
  most: number;
  /** Rows that were averaged, see averagedRows. */
  averaged: number;
  /** Turning points count beyond this many standard deviations of the noise. */
  threshold: number;
}

/** Running mean over so many rows: less noise for the same bars. Place of the rows: the first of those averaged. */
export function averagedRows(level: BarLevel, averaged: number): BarLevel {
  if (averaged === 1 || level.rows <= averaged) return level;
  const { columns, grey } = level;
  const rows = level.rows - averaged + 1;
  const out = new Float32Array(rows * columns);
  for (let i = 0; i < out.length; i++) {
    let sum = 0;
    for (let k = 0; k < averaged; k++) sum += grey[i + k * columns]!;
    out[i] = sum / averaged;
  }
  return { ...level, rows, grey: out };
}

/**
 * Goes along every row and finds five neighbouring turning points (bar, space, bar, space, bar) at even spacing.
 *
 * Model    turning points beyond a threshold of noise; the four places between bars and spaces where the grey value is half
 *          way: three equal distances, each one bar wide. Both polarities.
 */
export function scanTriplets(level: BarLevel, noise: PixelNoise, settings: ScanSettings): TripletHit[] {
  const { columns, rows, blockPx, grey } = level;
  const perBlock = settings.threshold / (blockPx * Math.sqrt(2 * settings.averaged));
  const hits: TripletHit[] = [];
  const places = new Int32Array(columns + 1);
  for (let row = 0; row < rows; row++) {
    const base = row * columns;
    const count = turningPoints(grey, base, columns, places, (value) => Math.max(0.6, noise(value) * perBlock));
    for (let k = 0; k + 4 < count; k++) {
      const hit = tripletAt(grey, base, columns, places, k, settings);
      if (hit) hits.push({ row: row + (settings.averaged - 1) / 2, ...hit });
    }
  }
  return hits;
}

/** Columns of alternating highs and lows that differ by more than a threshold; returns how many. */
function turningPoints(
  grey: Float32Array,
  base: number,
  columns: number,
  places: Int32Array,
  thresholdDn: (value: number) => number,
): number {
  let count = 0;
  let low = 0;
  let high = 0;
  let rising = 0;
  let least = thresholdDn(grey[base]!);
  for (let x = 1; x < columns; x++) {
    const value = grey[base + x]!;
    if (value > grey[base + high]!) high = x;
    if (value < grey[base + low]!) low = x;
    if (rising >= 0 && grey[base + high]! - value > least) {
      places[count++] = high;
      rising = -1;
      low = x;
      least = thresholdDn(grey[base + high]!);
    } else if (rising <= 0 && value - grey[base + low]! > least) {
      places[count++] = low;
      rising = 1;
      high = x;
      least = thresholdDn(value);
    }
  }
  if (rising !== 0) places[count++] = rising > 0 ? high : low;
  return count;
}

/** Where ground is looked for beside the bars, in bar widths: they end at 2.5, a neighbour may begin at 3.5. */
const besideBars = 3;

function tripletAt(
  grey: Float32Array,
  base: number,
  columns: number,
  places: Int32Array,
  k: number,
  { least, most }: ScanSettings,
): Omit<TripletHit, 'row'> | null {
  const p0 = places[k]!;
  const p1 = places[k + 1]!;
  const p2 = places[k + 2]!;
  const p3 = places[k + 3]!;
  const p4 = places[k + 4]!;
  if (p3 - p1 < 1.2 * least || p3 - p1 > 3.2 * most) return null;
  const v0 = grey[base + p0]!;
  const v1 = grey[base + p1]!;
  const v2 = grey[base + p2]!;
  const v3 = grey[base + p3]!;
  const v4 = grey[base + p4]!;
  const spaces = (v1 + v3) / 2;
  const depthDn = (v0 + v2 + v4) / 3 - spaces;
  const depth = Math.abs(depthDn);
  if (Math.max(v0, v2, v4) - Math.min(v0, v2, v4) > 0.6 * depth || Math.abs(v1 - v3) > 0.6 * depth) return null;
  const c1 = crossing(grey, base, p0, p1);
  const c2 = crossing(grey, base, p1, p2);
  const c3 = crossing(grey, base, p2, p3);
  const c4 = crossing(grey, base, p3, p4);
  const barWidth = (c4 - c1) / 3;
  if (barWidth < least || barWidth > most) return null;
  const slack = barWidth < 2 ? 0.55 : 0.4;
  const uneven = Math.max(Math.abs(c2 - c1 - barWidth), Math.abs(c3 - c2 - barWidth), Math.abs(c4 - c3 - barWidth));
  if (uneven > slack * barWidth || c1 - p0 > 1.7 * barWidth || p4 - c4 > 1.7 * barWidth) return null;
  const centre = (c1 + c4) / 2;
  const left = Math.round(centre - besideBars * barWidth);
  const right = Math.round(centre + besideBars * barWidth);
  if (left < 0 || right >= columns) return null;
  // Beyond the outer bars lies ground again, at least as far from the bars' grey value as half of the spaces' depth.
  const sign = Math.sign(depthDn);
  if (sign * (spaces - grey[base + left]!) < -0.5 * depth || sign * (spaces - grey[base + right]!) < -0.5 * depth)
    return null;
  return { centre, barWidth, bright: depthDn > 0, depthDn };
}

/** Where the grey value is half way between two turning points. */
function crossing(grey: Float32Array, base: number, from: number, to: number): number {
  const start = grey[base + from]!;
  const half = (start + grey[base + to]!) / 2;
  const up = half > start;
  let x = from + 1;
  while (x < to && grey[base + x]! > half !== up) x++;
  const before = grey[base + x - 1]!;
  return x - 1 + (half - before) / (grey[base + x]! - before);
}
