import { type EdgeLine, edgeColumnPx, lineTiltRad } from './edge-line.js';
import type { EdgePatch } from './edge-patch.js';

/** How the grey value runs across a line. */
export interface EdgeProfile {
  /** Means in bins of one pixel. */
  meansDn: number[];
  /** Standard deviation of one mean. */
  meanStdDn: number;
}

/** Averages the patch along a line, in bins of one pixel across it that at least a quarter of the rows reach; noise per pixel. */
export function edgeProfile(patch: EdgePatch, line: EdgeLine, noiseDn: number): EdgeProfile {
  const { rows, columns, grey } = patch;
  const cos = Math.cos(lineTiltRad(line));
  const size = 4 * columns + 1;
  const counts = new Float64Array(size);
  const sums = new Float64Array(size);
  for (let row = 0; row < rows; row++) {
    const at = edgeColumnPx(line, row);
    if (!(at > -columns && at < 2 * columns)) continue;
    let place = 2 * columns + 0.5 - at * cos;
    for (let i = row * columns; i < (row + 1) * columns; i++, place += cos) {
      const bin = place | 0;
      counts[bin] = counts[bin]! + 1;
      sums[bin] = sums[bin]! + grey[i]!;
    }
  }
  const meansDn: number[] = [];
  for (let bin = 0; bin < size; bin++) if (counts[bin]! >= rows / 4) meansDn.push(sums[bin]! / counts[bin]!);
  return { meansDn, meanStdDn: noiseDn / Math.sqrt(rows / 2) };
}

/**
 * Significant ups and downs along a profile: +1 for a rise, −1 for a fall, each of at least a quarter of the whole range and
 * six standard deviations of a mean. [1] is one rising edge, [1, −1] a bar, [] a plain area.
 */
export function risesAndFalls({ meansDn, meanStdDn }: EdgeProfile): number[] {
  const range = Math.max(...meansDn) - Math.min(...meansDn);
  const least = Math.max(range / 4, 6 * meanStdDn, 0.5);
  const runs: number[] = [];
  let low = meansDn[0]!;
  let high = meansDn[0]!;
  for (const value of meansDn) {
    low = Math.min(low, value);
    high = Math.max(high, value);
    if (value - low >= least) {
      if (runs.at(-1) !== 1) runs.push(1);
      low = high = value;
    } else if (high - value >= least) {
      if (runs.at(-1) !== -1) runs.push(-1);
      low = high = value;
    }
  }
  return runs;
}

/**
 * True where a rising profile climbs in separate steps: over three pixels each climbs at least a quarter as fast as the
 * fastest and well above noise, with a nearly flat stretch (a tenth) between them.
 */
export function isStair({ meansDn, meanStdDn }: EdgeProfile): boolean {
  const climbs = meansDn.slice(3).map((value, i) => value - meansDn[i]!);
  const fastest = Math.max(...climbs);
  const step = Math.max(fastest / 4, 8 * meanStdDn);
  let flatSince = false;
  let climbed = false;
  for (const climb of climbs) {
    if (climb < fastest / 10) flatSince = climbed;
    else if (climb > step) {
      if (flatSince) return true;
      climbed = true;
    }
  }
  return false;
}

/** Robust noise per pixel: the median absolute difference between neighbouring rows, which an edge along them hardly moves. */
export function noiseOfRowsDn({ rows, columns, grey }: EdgePatch): number {
  const step = Math.max(1, Math.floor((rows * columns) / 1500));
  const count = Math.floor((grey.length - columns) / step);
  const differences = new Float64Array(count);
  for (let k = 0; k < count; k++) differences[k] = Math.abs(grey[k * step + columns]! - grey[k * step]!);
  return differences.sort()[count >> 1]! / 0.6745 / Math.SQRT2;
}
