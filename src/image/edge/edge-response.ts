/** Why an edge was refused. */
export type EdgeRefusal =
  | 'region-too-small'
  | 'clipped'
  | 'no-edge'
  | 'two-edges'
  | 'angle-too-small'
  | 'angle-too-large'
  | 'too-noisy'
  | 'too-blurred';

/** MTF at one spatial frequency. */
export interface MtfPoint {
  /** Across the edge (along its normal), in cycles per pixel pitch. */
  frequencyPerPx: number;
  value: number;
  /** Standard deviation. */
  std: number;
}

/** The measured response of one slanted edge. */
export interface EdgeMeasured {
  kind: 'measured';
  /** `near-vertical`: the edge runs down the rows; `near-horizontal`: along them. */
  orientation: 'near-vertical' | 'near-horizontal';
  /** Signed tilt against the pixel columns (near-vertical) or rows (near-horizontal). */
  edgeAngleDeg: number;
  edgeAngleStdDeg: number;
  /** Greatest departure of the fitted edge from its chord; 0 when a straight line is enough. */
  edgeBowPx: number;
  /** Grey value of the dark and of the bright side. */
  darkDn: number;
  brightDn: number;
  /** (bright − dark) / (bright + dark); a black level that is not removed lowers it. */
  contrast: number;
  /** Per-pixel noise on each side, from the scatter about the fitted edge. */
  darkNoiseStdDn: number;
  brightNoiseStdDn: number;
  /** 10 % to 90 % rise of the edge spread function. */
  riseDistancePx: number;
  /** From 0 to 1 cycle per pixel in steps of 0.01. */
  mtf: MtfPoint[];
  /** Lowest frequency where the MTF falls through one half; null if not below 1 cycle per pixel. */
  mtf50PerPx: number | null;
  mtf50StdPerPx: number | null;
  /** The same for one tenth. */
  mtf10PerPx: number | null;
  mtf10StdPerPx: number | null;
  /** Edge spread function, rising: distance across the edge, measured mean where there are samples, and fitted curve; 0 … 1. */
  edgeSpreadFunction: { distancePx: number; measured: number | null; fitted: number }[];
  /** MTF50 in line pairs per mm, where pitch (and magnification) were given. */
  mtf50SensorPerMm: number | null;
  mtf50ObjectPerMm: number | null;
}

/** A measured edge, or an honest refusal. */
export type EdgeResponse = EdgeMeasured | { kind: 'refused'; reason: EdgeRefusal; message: string; remedy: string };

/**
 * MTF and its standard deviation at one frequency, by cubic interpolation between the points.
 *
 * Returns  null beyond the last point (1 cycle per pixel)
 * Throws   RangeError for a negative frequency.
 */
export function mtfAt(mtf: readonly MtfPoint[], frequencyPerPx: number): { value: number; std: number } | null {
  if (!(frequencyPerPx >= 0)) throw new RangeError(`frequencyPerPx is ${frequencyPerPx} cycles/px; allowed: ≥ 0`);
  const step = mtf[1]!.frequencyPerPx - mtf[0]!.frequencyPerPx;
  const at = frequencyPerPx / step;
  const last = mtf.length - 1;
  if (at > last + 1e-9) return null;
  const i = Math.min(last - 1, Math.floor(at));
  const t = at - i;
  // The MTF is even about zero, but its slope jumps there: no point is mirrored.
  const before = mtf[Math.max(0, i - 1)]!.value;
  const [a, b] = [mtf[i]!, mtf[i + 1]!];
  const after = mtf[Math.min(last, i + 2)]!.value;
  const slopeA = i === 0 ? b.value - a.value : (b.value - before) / 2;
  const slopeB = i === last - 1 ? b.value - a.value : (after - a.value) / 2;
  const value =
    (1 + 2 * t) * (1 - t) ** 2 * a.value +
    t * (1 - t) ** 2 * slopeA +
    t * t * (3 - 2 * t) * b.value +
    t * t * (t - 1) * slopeB;
  return { value, std: a.std + t * (b.std - a.std) };
}
