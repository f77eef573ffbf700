import type { PartExpectation, PartsDrift } from '../../station/index.js';

/** Where a distance says that best focus lies, 1σ. */
export interface PowerForecast {
  focalPowerDpt: number;
  focalPowerStdDpt: number;
}

/** A part whose focus was found. */
export interface FoundPart {
  number: number;
  focalPowerDpt: number;
  /** null: its distance was not told. */
  forecast: PowerForecast | null;
}

/** Parts that an expectation looks back on: enough to know a shift and a scatter, few enough to follow a drift. */
const rememberedParts = 8;

/**
 * Where best focus of the next part is expected, from its distance and from the parts before it.
 *
 * Model    with a distance: forecast + a shift common to all parts (calibration aged, lens warmed), known before as
 *          N(0, s), and a scatter σ of each part; without one: the last part's power, σ from part to part
 * Formula  σ² = (s² + Σ(off − mean)²) / n, shift = w·mean, w = s² / (s² + σ²/n), variance σ²·(1 + w/n) over the n ≤ 8 last
 *          parts found; without distance σ² = (s₀² + Σ(Pᵢ − Pᵢ₋₁)²) / n, s₀ = range/√12
 * Returns  null where neither distance nor earlier part tells anything.
 * Trust    an expectation says where to look first, and the search weighs it as a prior of long tails. A part that comes out
 *          otherwise is not wrong for it.
 * Checked  closed form: one and two parts, tests/procedures/autofocus/part-expectation.test.ts
 */
export function expectPart({
  forecast,
  found,
  rangeDpt,
}: {
  forecast: PowerForecast | null;
  /** In their order. */
  found: readonly FoundPart[];
  /** Width of the lens's range. */
  rangeDpt: number;
}): PartExpectation | null {
  return forecast === null ? likeTheLast(found, rangeDpt) : byDistance(forecast, found);
}

function byDistance(forecast: PowerForecast, found: readonly FoundPart[]): PartExpectation {
  const offs = offsOf(found)
    .slice(-rememberedParts)
    .map(({ offDpt }) => offDpt);
  const { focalPowerDpt, focalPowerStdDpt: s } = forecast;
  const n = offs.length;
  if (n === 0) return { focalPowerDpt, focalPowerStdDpt: s, from: 'distance' };
  const mean = offs.reduce((sum, off) => sum + off, 0) / n;
  const variance = (s ** 2 + offs.reduce((sum, off) => sum + (off - mean) ** 2, 0)) / n;
  const weight = s === 0 ? 1 : s ** 2 / (s ** 2 + variance / n);
  return {
    focalPowerDpt: focalPowerDpt + weight * mean,
    focalPowerStdDpt: Math.sqrt(variance * (1 + weight / n)),
    from: 'distance',
  };
}

function likeTheLast(found: readonly FoundPart[], rangeDpt: number): PartExpectation | null {
  const powers = found.slice(-rememberedParts - 1).map(({ focalPowerDpt }) => focalPowerDpt);
  const last = powers.at(-1);
  if (last === undefined) return null;
  const steps = powers.slice(1).reduce((sum, power, i) => sum + (power - powers[i]!) ** 2, 0);
  return {
    focalPowerDpt: last,
    focalPowerStdDpt: Math.sqrt((rangeDpt ** 2 / 12 + steps) / powers.length),
    from: 'last-part',
  };
}

const offsOf = (found: readonly FoundPart[]) =>
  found.flatMap(({ number, focalPowerDpt, forecast }) =>
    forecast === null ? [] : [{ number, offDpt: focalPowerDpt - forecast.focalPowerDpt }],
  );

/** Sums of a straight line through what is found over the part's number; it holds no part. */
export interface DriftSums {
  take(part: FoundPart): void;
  /** null: fewer than three parts. */
  drift(): PartsDrift | null;
}

/**
 * Drift over the parts by least squares: of the power off its forecast where distances are told, else of the power.
 *
 * Formula  slope = S_xy / S_xx, std = √((S_yy − slope·S_xy) / (n − 2) / S_xx), sums about the running means
 */
export function driftSums(): DriftSums {
  let n = 0;
  let [meanX, meanY] = [0, 0];
  let [xx, xy, yy] = [0, 0, 0];
  return {
    take({ number, focalPowerDpt, forecast }) {
      n++;
      const [dx, dy] = [number - meanX, focalPowerDpt - (forecast?.focalPowerDpt ?? 0) - meanY];
      meanX += dx / n;
      meanY += dy / n;
      xx += (dx * dx * (n - 1)) / n;
      xy += (dx * dy * (n - 1)) / n;
      yy += (dy * dy * (n - 1)) / n;
    },
    drift() {
      if (n < 3) return null;
      const slope = xy / xx;
      const left = Math.max(0, yy - slope * xy);
      return { changeDpt: slope, changeStdDpt: Math.sqrt(left / (n - 2) / xx) };
    },
  };
}
