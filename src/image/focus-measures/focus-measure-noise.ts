import { requireNumber } from '../../base/index.js';
import { type GreyImage, type Region, regionInWords, wholeFrame } from '../grey-image.js';
import { regionStatistics } from '../region-statistics.js';
import { dctBlocks } from './dct-energy-ratio.js';
import { type FocusMeasure, requireFocusRegion } from './measure-focus.js';
import { haarEnergies, haarPixelCount } from './wavelet-energy.js';

/** What the sensor's noise does to a focus measure. */
export interface FocusMeasureNoise {
  /** Value of the measure on a flat field with this noise: what a defocused curve sinks to. */
  noiseFloor: number;
  /** Standard deviation of the measure from frame to frame of the same scene. */
  std: number;
}

/** Taps of a symmetric kernel as [dx, dy, weight]. */
type Taps = readonly (readonly [dx: number, dy: number, weight: number])[];

/**
 * Floor and standard deviation of a focus measure under white noise, from one frame.
 *
 * Model    all but modified-laplacian and the two ratios are quadratic forms Q = Iᵀ B I / n, B a convolution b = Σ (kernel ⋆ kernel).
 *          With I = i + noise of variance v: E Q = iᵀBi/n + v·b(0), Var Q = (4 v |b∗i|² + 2 v² n Σb²)/n², and
 *          |b∗i|² is estimated without bias by |b∗I|² − n v Σb². modified-laplacian: |s + η| linearised, Var = v |Lᵀ sign s|²/n².
 * Input    noiseStdDn: per-pixel temporal noise in DN at the region's mean grey value
 * Returns  both in the unit of measureFocus
 * Throws   RangeError for a bad region (at least 9 × 9 px here) or noise < 0.
 * Trust    one noise value for the region: where photon noise differs much between bright and dark parts it is a mean.
 *          modified-laplacian: std comes out too large where the region is flat (1.2 times on mixed scenes, 1.7 on none).
 * Source   derived in docs/image/focus-measures.md
 * Checked  property: Monte Carlo, 400 frames, each measure
 */
export function focusMeasureNoise({
  image,
  region = wholeFrame(image),
  measure,
  noiseStdDn,
}: {
  image: GreyImage;
  region?: Region;
  measure: FocusMeasure;
  noiseStdDn: number;
}): FocusMeasureNoise {
  requireFocusRegion(image, region);
  requireNumber('noiseStdDn', noiseStdDn, { min: 0, unit: 'DN' });
  if (Math.min(region.widthPx, region.heightPx) < 9) {
    throw new RangeError(`region is ${regionInWords(region)}; allowed: at least 9 × 9 px for an estimate of noise`);
  }
  const v = noiseStdDn ** 2;
  switch (measure) {
    case 'laplacian-variance':
    case 'laplacian-energy':
      return quadraticFormNoise(image, region, laplacianForm, v);
    case 'tenengrad':
      return quadraticFormNoise(image, region, sobelForm, v);
    case 'brenner':
      return quadraticFormNoise(image, region, twoApartForm, v);
    case 'gradient-energy':
      return quadraticFormNoise(image, region, neighbourForm, v);
    case 'vollath-f4':
      return vollathNoise(image, region, v);
    case 'normalised-variance':
      return normalisedVarianceNoise(image, region, v);
    case 'modified-laplacian':
      return modifiedLaplacianNoise(image, region, v);
    case 'wavelet-energy':
      return waveletNoise(image, region, v);
    case 'dct-energy-ratio':
      return dctNoise(image, region, v);
    default:
      throw new RangeError(`measure is ${String(measure satisfies never)}; allowed: a name of focusMeasureNames`);
  }
}

const neighbourForm: Taps = [[0, 0, 4], ...cross(1, -1)];
const twoApartForm: Taps = [[0, 0, 4], ...cross(2, -1)];
const laplacianForm: Taps = [
  [0, 0, 20],
  ...cross(1, -8),
  ...cross(2, 1),
  [1, 1, 2],
  [1, -1, 2],
  [-1, 1, 2],
  [-1, -1, 2],
];
// [−1 0 1] ⋆ itself ⊗ [1 2 1] ⋆ itself, plus the transpose.
const sobelForm: Taps = outer([-1, 0, 2, 0, -1], [1, 4, 6, 4, 1]);
function cross(reach: number, weight: number): Taps {
  return [
    [reach, 0, weight],
    [-reach, 0, weight],
    [0, reach, weight],
    [0, -reach, weight],
  ];
}

function outer(across: readonly number[], along: readonly number[]): Taps {
  const taps: [number, number, number][] = [];
  for (let dy = -2; dy <= 2; dy++) {
    for (let dx = -2; dx <= 2; dx++) {
      const weight = across[dx + 2]! * along[dy + 2]! + along[dx + 2]! * across[dy + 2]!;
      if (weight !== 0) taps.push([dx, dy, weight]);
    }
  }
  return taps;
}

function quadraticFormNoise(image: GreyImage, region: Region, form: Taps, v: number): FocusMeasureNoise {
  const { data, widthPx: w } = image;
  const offsets = form.map(([dx, dy]) => dy * w + dx);
  const weights = form.map((tap) => tap[2]);
  let energy = 0;
  for (let y = region.yPx + 2; y < region.yPx + region.heightPx - 2; y++) {
    const end = y * w + region.xPx + region.widthPx - 2;
    for (let i = y * w + region.xPx + 2; i < end; i++) {
      let value = 0;
      for (let k = 0; k < offsets.length; k++) value += weights[k]! * data[i + offsets[k]!]!;
      energy += value * value;
    }
  }
  const perPixel = energy / ((region.widthPx - 4) * (region.heightPx - 4));
  const centre = form.find(([dx, dy]) => dx === 0 && dy === 0)?.[2] ?? 0;
  const sumOfSquares = weights.reduce((sum, b) => sum + b * b, 0);
  const count = (region.widthPx - 2) * (region.heightPx - 2);
  const smallest = 2 * v * v * sumOfSquares;
  return { noiseFloor: centre * v, std: Math.sqrt(Math.max(smallest, 4 * v * perPixel - smallest) / count) };
}

/** F4 has no centre tap and feels the ends of each row, where terms are missing: its gradient is taken there as well. */
function vollathNoise(image: GreyImage, region: Region, v: number): FocusMeasureNoise {
  const { data, widthPx: w } = image;
  const { widthPx, heightPx } = region;
  let energy = 0;
  for (let y = region.yPx; y < region.yPx + heightPx; y++) {
    const start = y * w + region.xPx;
    const at = (k: number) => (k >= 0 && k < widthPx ? data[start + k]! : 0);
    for (let k = 0; k < widthPx; k++) energy += ((at(k - 1) + at(k + 1) - at(k - 2) - at(k + 2)) / 2) ** 2;
  }
  const count = widthPx * heightPx;
  const smallest = 2 * v * v * count;
  return { noiseFloor: 0, std: Math.sqrt(Math.max(smallest, 4 * v * energy - smallest)) / count };
}

function normalisedVarianceNoise(image: GreyImage, region: Region, v: number): FocusMeasureNoise {
  const { meanDn, stdDn, count } = regionStatistics({ image, region });
  if (meanDn === 0) return { noiseFloor: 0, std: 0 };
  const variance = stdDn ** 2;
  const ofVariance = Math.max(2 * v * v, 4 * v * variance - 2 * v * v) / count;
  const ofMean = (4 * variance ** 2 * v) / (count * meanDn ** 2);
  return { noiseFloor: v / meanDn ** 2, std: Math.sqrt(ofVariance + ofMean) / meanDn ** 2 };
}

function modifiedLaplacianNoise(image: GreyImage, region: Region, v: number): FocusMeasureNoise {
  const { data, widthPx: w } = image;
  const signX = (i: number) => Math.sign(2 * data[i]! - data[i - 1]! - data[i + 1]!);
  const signY = (i: number) => Math.sign(2 * data[i]! - data[i - w]! - data[i + w]!);
  let energy = 0;
  for (let y = region.yPx + 2; y < region.yPx + region.heightPx - 2; y++) {
    const end = y * w + region.xPx + region.widthPx - 2;
    for (let i = y * w + region.xPx + 2; i < end; i++) {
      const slope = 2 * signX(i) - signX(i - 1) - signX(i + 1) + 2 * signY(i) - signY(i - w) - signY(i + w);
      energy += slope * slope;
    }
  }
  const perPixel = energy / ((region.widthPx - 4) * (region.heightPx - 4));
  const count = (region.widthPx - 2) * (region.heightPx - 2);
  return { noiseFloor: 2 * Math.sqrt((12 * v) / Math.PI), std: Math.sqrt((v * perPixel) / count) };
}

/** The details are a projection P on ¾ of the dimensions: P² = P, so that the measure itself tells its own scatter. */
function waveletNoise(image: GreyImage, region: Region, v: number): FocusMeasureNoise {
  const count = haarPixelCount(region);
  const value = haarEnergies(image, region).detail / count;
  const ofNoise = 1.5 * v * v;
  return { noiseFloor: 0.75 * v, std: Math.sqrt(Math.max(ofNoise, 4 * v * value - ofNoise) / count) };
}

/** Each block: AC energy with n − 1 and DC coefficient with one degree of freedom of noise, independent of each other. */
function dctNoise(image: GreyImage, region: Region, v: number): FocusMeasureNoise {
  const blocks = dctBlocks(image, region);
  let floor = 0;
  let variance = 0;
  for (const { count, acEnergyDn2: ac, dcEnergyDn2: dc } of blocks) {
    if (dc === 0) continue;
    const ofNoise = 2 * (count - 1) * v * v;
    floor += ((count - 1) * v) / dc;
    variance += (Math.max(ofNoise, 4 * v * ac - ofNoise) + (4 * ac * ac * v) / dc) / dc ** 2;
  }
  return { noiseFloor: floor / blocks.length, std: Math.sqrt(variance) / blocks.length };
}
