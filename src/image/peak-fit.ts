import { requireNumber } from '../base/index.js';
import { fitGaussianPeak } from './gaussian-peak.js';
import { similarPeaks } from './similar-peaks.js';

/** The peak of a curve, or why there is none to be trusted. */
export type PeakFit =
  | {
      kind: 'found';
      /** Position of the peak, in the unit of the positions. */
      peak: number;
      /** Standard deviation of the position. */
      peakStd: number;
      /** Standard deviation of the fitted Gaussian, in the unit of the positions. */
      width: number;
      /** Height above the baseline, in the unit of the values. */
      height: number;
      baseline: number;
      /** Root mean square of (value − fit) over the used points. */
      residualRms: number;
      usedPoints: number;
    }
  | { kind: 'none'; reason: 'flat' | 'at-end' | 'multiple' | 'too-few'; message: string };

/** Fewest points that a Gaussian with baseline can be fitted to with a residual left over. */
export const fewestPeakPoints = 5;

/**
 * Peak of a through-focus curve: weighted least squares of a Gaussian on a baseline, around the maximum.
 *
 * Model    value = baseline + height · exp(−(x − peak)²/(2 width²)) over the points above a fifth of the curve's range that
 *          hang together with the maximum, and one neighbour on each side (at least five points)
 * Input    positions in any order and unit; values; valueStds: standard deviation of each value, where known
 * Returns  'found' with the standard deviation from the fit's covariance (scaled by the residual where that is larger
 *          than the given noise), or 'none': too-few (< 5 points), flat (no rise above noise), at-end (maximum at or beyond
 *          the first or last position), multiple (a second peak of at least half the height, set apart by a dip)
 * Throws   RangeError for lists of different length, numbers that are not finite, or two equal positions.
 * Trust    a curve that is not bell-shaped leaves a residual: peakStd then counts it as noise, not as a bias.
 * Source   Gauss–Newton with Levenberg's damping; derived in docs/image/peak-fit.md
 * Checked  closed form: exact Gaussians; recovery: 2 σ coverage by Monte Carlo; reference: an exact Gaussian at three places (1.37)
 */
export function fitPeak({
  positions,
  values,
  valueStds,
}: {
  positions: readonly number[];
  values: readonly number[];
  valueStds?: readonly number[];
}): PeakFit {
  const { x, y, s } = sortedCurve(positions, values, valueStds);
  if (x.length < fewestPeakPoints) {
    return none('too-few', `${x.length} points; a peak needs at least ${fewestPeakPoints}.`);
  }
  const top = y.indexOf(Math.max(...y));
  const low = Math.min(...y);
  const range = y[top]! - low;
  if (range <= 1e-12 * Math.max(Math.abs(y[top]!), Math.abs(low))) return none('flat', 'The curve is constant.');
  const noise = s ? rootMeanSquare(s) : 0;
  if (s && range < 4 * noise * Math.SQRT2) {
    return none('flat', `The curve rises by ${short(range)} only, within its noise of ${short(noise)} per point.`);
  }
  const fitted = fitWindow(x, y, s, top, low + range / 5);
  const scatter = Math.max(noise, fitted?.residualRms ?? 0);
  const peaks = similarPeaks({ positions: x, values: y, scatter, baseline: low });
  if (peaks.length > 1) {
    return none('multiple', `Peaks of similar height at ${peaks.map(short).join(' and ')}.`);
  }
  if (top === 0 || top === x.length - 1) {
    return none('at-end', `The highest value lies at the ${top === 0 ? 'first' : 'last'} position, ${short(x[top]!)}.`);
  }
  if (!fitted) return none('flat', 'No bell-shaped peak fits the points around the maximum.');
  if (fitted.height < 4 * fitted.heightScatter || !standsOut(y[top]!, fitted.elsewhere)) {
    return none('flat', `The rise of ${short(fitted.height)} does not stand out of the scatter of the points.`);
  }
  const { heightScatter: _, elsewhere: __, ...found } = fitted;
  if (found.peak <= x[0]! || found.peak >= x.at(-1)!) {
    return none('at-end', `The fitted peak, ${short(found.peak)}, lies outside ${short(x[0]!)} … ${short(x.at(-1)!)}.`);
  }
  return { kind: 'found', ...found };
}

/** The contiguous run of points above `level` around the top, one neighbour each side, at least five; fitted. */
function fitWindow(x: number[], y: number[], s: number[] | undefined, top: number, level: number) {
  let first = top;
  let last = top;
  while (first > 0 && y[first - 1]! > level) first--;
  while (last < x.length - 1 && y[last + 1]! > level) last++;
  first = Math.max(0, first - 1);
  last = Math.min(x.length - 1, last + 1);
  while (last - first + 1 < fewestPeakPoints) {
    if (first > 0) first--;
    if (last < x.length - 1) last++;
  }
  const fit = fitGaussianPeak({
    positions: x.slice(first, last + 1),
    values: y.slice(first, last + 1),
    valueStds: s?.slice(first, last + 1),
  });
  const elsewhere = [...y.slice(0, first), ...y.slice(last + 1)];
  return fit && { ...fit, elsewhere };
}

/** Whether the highest value lies four standard deviations above the values away from the peak (if there are enough). */
function standsOut(highest: number, elsewhere: readonly number[]): boolean {
  if (elsewhere.length < 4) return true;
  const mean = elsewhere.reduce((sum, v) => sum + v, 0) / elsewhere.length;
  const squares = elsewhere.reduce((sum, v) => sum + (v - mean) ** 2, 0);
  return highest - mean >= 4 * Math.sqrt(squares / (elsewhere.length - 1));
}

function sortedCurve(positions: readonly number[], values: readonly number[], valueStds?: readonly number[]) {
  if (values.length !== positions.length || (valueStds && valueStds.length !== positions.length)) {
    throw new RangeError(
      `values has ${values.length} and valueStds ${valueStds?.length ?? 'no'} entries; allowed: one per position (${positions.length})`,
    );
  }
  const order = positions.map((_, i) => i).sort((a, b) => positions[a]! - positions[b]!);
  order.forEach((i, k) => {
    requireNumber(`positions[${i}]`, positions[i]!);
    requireNumber(`values[${i}]`, values[i]!);
    if (valueStds) requireNumber(`valueStds[${i}]`, valueStds[i]!, { above: 0 });
    if (k > 0 && positions[i] === positions[order[k - 1]!]) {
      throw new RangeError(`positions[${i}] is ${positions[i]}; allowed: each position once`);
    }
  });
  return {
    x: order.map((i) => positions[i]!),
    y: order.map((i) => values[i]!),
    s: valueStds && order.map((i) => valueStds[i]!),
  };
}

const none = (reason: 'flat' | 'at-end' | 'multiple' | 'too-few', message: string): PeakFit => ({
  kind: 'none',
  reason,
  message,
});

const rootMeanSquare = (list: readonly number[]): number =>
  Math.sqrt(list.reduce((sum, v) => sum + v * v, 0) / list.length);

const short = (value: number): string => String(Number(value.toPrecision(4)));
