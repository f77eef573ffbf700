import { normalProbabilityWithin } from '../../base/index.js';
import type { GreyImage } from '../grey-image.js';
import { type FocusRefusalReason, focusRefusals } from './fit-best-focus.js';

/** Where a focal power focuses, and how fast that moves. Null beyond what is known. */
export type DistanceOfPower = (focalPowerDpt: number) => { workingDistanceMm: number; slopeMmPerDpt: number } | null;

/** Heights of a surface, block by block. */
export interface HeightMap {
  columns: number;
  rows: number;
  /** Side of a block; the middle of the first lies at ((stepPx − 1)/2, (stepPx − 1)/2) of the reference frame. */
  stepPx: number;
  /** Above the plane at zeroWorkingDistanceMm, towards the lens; NaN where refused. */
  heightsMm: Float32Array;
  /** Standard uncertainty from noise and fit; the calibration's own is common to all blocks and not in it. */
  stdsMm: Float32Array;
  /** Probability that the height lies within half the depth of field of the truth, 0 … 1; 0 where refused. */
  confidences: Float32Array;
  zeroWorkingDistanceMm: number;
  /** Quarter-wave depth of field at that distance. */
  depthOfFieldMm: number;
  summary: HeightSummary;
}

/** A height map in numbers. */
export interface HeightSummary {
  validFraction: number;
  refusedFractions: { reason: FocusRefusalReason; fraction: number }[];
  minMm: number;
  maxMm: number;
  /** rms of the stated standard uncertainties. */
  uncertaintyRmsMm: number;
  /** rms of the heights about their own best plane. */
  aboutPlaneRmsMm: number;
}

/**
 * Heights from best focus, through the relation of power and distance.
 *
 * Input    best focus, its deviation and its refusals, block by block; `distanceOf` the calibration or the optical model;
 *          `zeroWorkingDistanceMm` null: the median distance, to the nearest 0.1 mm
 * Returns  null where no block has a height.
 * Checked  reference: a tilted and curved surface rendered by numpy, tests/image/stack/height-map.test.ts
 */
export function heightMap({
  bestFocusDpt,
  bestFocusStdDpt,
  refusals,
  columns,
  rows,
  stepPx,
  quarterWaveHalfWidthDpt,
  distanceOf,
  zeroWorkingDistanceMm = null,
}: {
  bestFocusDpt: Float32Array;
  bestFocusStdDpt: Float32Array;
  refusals: Uint8Array;
  columns: number;
  rows: number;
  stepPx: number;
  quarterWaveHalfWidthDpt: number;
  distanceOf: DistanceOfPower;
  zeroWorkingDistanceMm?: number | null;
}): HeightMap | null {
  const count = columns * rows;
  const half = quarterWaveHalfWidthDpt;
  const distances = new Float64Array(count).fill(Number.NaN);
  const stdsMm = new Float32Array(count).fill(Number.NaN);
  const confidences = new Float32Array(count);
  const distanceAt = tabulated(distanceOf, bestFocusDpt);
  for (let b = 0; b < count; b++) {
    if (refusals[b] !== 0) continue;
    const found = distanceAt(bestFocusDpt[b]!);
    if (found === null) continue;
    distances[b] = found.workingDistanceMm;
    stdsMm[b] = Math.abs(found.slopeMmPerDpt) * bestFocusStdDpt[b]!;
    confidences[b] = normalProbabilityWithin({ low: -half, high: half, std: bestFocusStdDpt[b]! });
  }
  const known = distances.filter(Number.isFinite).sort();
  if (known.length === 0) return null;
  const zeroMm = zeroWorkingDistanceMm ?? Math.round(10 * known[known.length >> 1]!) / 10;
  const heightsMm = Float32Array.from(distances, (distance) => zeroMm - distance);
  const medianPower = bestFocusDpt.filter((_, b) => refusals[b] === 0).sort()[known.length >> 1]!;
  const slope = Math.abs(distanceOf(medianPower)?.slopeMmPerDpt ?? Number.NaN);
  return {
    columns,
    rows,
    stepPx,
    heightsMm,
    stdsMm,
    confidences,
    zeroWorkingDistanceMm: zeroMm,
    depthOfFieldMm: 2 * quarterWaveHalfWidthDpt * slope,
    summary: {
      validFraction: known.length / count,
      refusedFractions: refusedFractions(refusals),
      minMm: zeroMm - known.at(-1)!,
      maxMm: zeroMm - known[0]!,
      uncertaintyRmsMm: rms(stdsMm.filter(Number.isFinite)),
      aboutPlaneRmsMm: aboutPlane(heightsMm, columns),
    },
  };
}

const tableSteps = 2048;

/** A relation read from a table over the powers that occur: of use where there are more blocks than places in the table. */
function tabulated(distanceOf: DistanceOfPower, powersDpt: Float32Array): DistanceOfPower {
  let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const power of powersDpt) {
    if (power < low) low = power;
    if (power > high) high = power;
  }
  if (!(high > low) || powersDpt.length < 2 * tableSteps) return distanceOf;
  const step = (high - low) / tableSteps;
  const table = Array.from({ length: tableSteps + 1 }, (_, k) => distanceOf(low + k * step));
  return (power) => {
    const place = Math.min((power - low) / step, tableSteps - 1e-9);
    const k = Math.floor(place);
    const [a, b] = [table[k], table[k + 1]];
    if (!a || !b) return distanceOf(power);
    const t = place - k;
    // A cubic through both values and slopes.
    const rise = b.workingDistanceMm - a.workingDistanceMm;
    const [from, to] = [a.slopeMmPerDpt * step - rise, rise - b.slopeMmPerDpt * step];
    return {
      workingDistanceMm: a.workingDistanceMm + t * rise + t * (1 - t) * ((1 - t) * from + t * to),
      slopeMmPerDpt: a.slopeMmPerDpt + t * (b.slopeMmPerDpt - a.slopeMmPerDpt),
    };
  };
}

const rms = (values: Float32Array): number =>
  Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / Math.max(1, values.length));

function refusedFractions(refusals: Uint8Array): HeightSummary['refusedFractions'] {
  const counts = new Float64Array(focusRefusals.length);
  for (const code of refusals) counts[code]!++;
  return focusRefusals
    .map((reason, code) => ({ reason, fraction: counts[code]! / refusals.length }))
    .filter(({ reason, fraction }) => reason !== 'found' && fraction > 0);
}

/** rms of the known heights about the least-squares plane through them. */
function aboutPlane(heights: Float32Array, columns: number): number {
  let [n, mx, my, mz] = [0, 0, 0, 0];
  heights.forEach((z, b) => {
    if (Number.isNaN(z)) return;
    n++;
    mx += b % columns;
    my += Math.floor(b / columns);
    mz += z;
  });
  let [xx, xy, yy, xz, yz, zz] = [0, 0, 0, 0, 0, 0];
  heights.forEach((z, b) => {
    if (Number.isNaN(z)) return;
    const [dx, dy, dz] = [(b % columns) - mx / n, Math.floor(b / columns) - my / n, z - mz / n];
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
    xz += dx * dz;
    yz += dy * dz;
    zz += dz * dz;
  });
  const det = xx * yy - xy * xy;
  const explained = det > 1e-9 * xx * yy ? (xz * xz * yy - 2 * xz * yz * xy + yz * yz * xx) / det : 0;
  return Math.sqrt(Math.max(0, zz - explained) / n);
}

/** Heights as 16-bit grey: height = offsetMm + scaleMm · grey for grey ≥ 1; 0 = no height. */
export interface HeightPicture {
  image: GreyImage;
  scaleMm: number;
  offsetMm: number;
}

/** Scales the heights to 1 … 65535. */
export function heightPicture({ heightsMm, columns, rows, summary }: HeightMap): HeightPicture {
  const scaleMm = Math.max((summary.maxMm - summary.minMm) / 65534, 1e-9);
  const offsetMm = summary.minMm - scaleMm;
  const data = Uint16Array.from(heightsMm, (height) =>
    Number.isNaN(height) ? 0 : Math.min(65535, Math.max(1, Math.round((height - offsetMm) / scaleMm))),
  );
  return { image: { widthPx: columns, heightPx: rows, bitDepth: 16, data }, scaleMm, offsetMm };
}
