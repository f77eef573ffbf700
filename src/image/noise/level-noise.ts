import type { GreyImage, Region } from '../grey-image.js';
import { maxGreyValueDn, regionInWords, requireGreyImage, requireRegion } from '../grey-image.js';

/** Mean, temporal and spatial noise of repeated frames of one still, even scene. */
export interface LevelNoise {
  frameCount: number;
  pixelCount: number;
  meanDn: number;
  /** Variance from frame to frame, mean over the pixels; a change of the whole frame's brightness (flicker) is taken off. */
  temporalVarianceDn2: number;
  /** Standard uncertainty of temporalVarianceDn2. */
  temporalVarianceStdDn2: number;
  /** Variance from pixel to pixel within blocks of 16 × 16 px, so that shading hardly counts; noise is taken off, so it may be below 0. */
  spatialVarianceDn2: number;
  spatialVarianceStdDn2: number;
  /** Standard deviation of the frames' means: flicker of the light, in DN. */
  flickerStdDn: number;
  /** Share of pixel values at the largest grey value, and at zero. */
  saturatedFraction: number;
  blackFraction: number;
}

const blockPx = 16;

/** Takes the frames of one level one after the other; only sums are kept. */
export interface LevelNoiseMeter {
  add(image: GreyImage): void;
  /** Throws RangeError with fewer than two frames. */
  result(): LevelNoise;
}

/**
 * Temporal and spatial noise of a level from its repeated frames; two are enough.
 *
 * Model    value = scene + fixed pattern + flicker of the frame + temporal noise of variance σ², independent between frames
 * Formula  σ² = mean over pixels of the sample variance over frames, less what the frames' means vary; of two frames that is
 *          ½·mean (a − b)² − ½·(mean a − mean b)². Spatial: variance of the mean frame within blocks, less σ²/n.
 * Input    frames of one size, exposure and light; the region holds an even field, focus does not matter
 * Trust    movement, a flickering lamp with rolling shutter, or noise reduction in the camera falsify the temporal variance;
 *          texture inside a block counts as spatial variance.
 * Source   EMVA Standard 1288, temporal variance from pairs of images (from memory; derived again)
 * Checked  recovery: simulated frames, tests/image/photon-transfer.test.ts; reference: numpy, references/noise
 */
export function levelNoiseMeter(region: Region): LevelNoiseMeter {
  const pixelCount = region.widthPx * region.heightPx;
  const sums = new Float64Array(pixelCount);
  const squares = new Float64Array(pixelCount);
  const frameMeans: number[] = [];
  let saturated = 0;
  let black = 0;
  return {
    add(image) {
      requireGreyImage('image', image);
      requireRegion('region', region, image);
      const full = maxGreyValueDn(image);
      let total = 0;
      let k = 0;
      for (let y = region.yPx; y < region.yPx + region.heightPx; y++) {
        const start = y * image.widthPx + region.xPx;
        for (let i = start; i < start + region.widthPx; i++, k++) {
          const value = image.data[i]!;
          sums[k]! += value;
          squares[k]! += value * value;
          total += value;
          if (value >= full) saturated++;
          if (value === 0) black++;
        }
      }
      frameMeans.push(total / pixelCount);
    },
    result() {
      const n = frameMeans.length;
      if (n < 2) throw new RangeError(`frames is ${n} of ${regionInWords(region)}; allowed: at least 2 of each level`);
      let within = 0;
      for (let k = 0; k < pixelCount; k++) within += squares[k]! - (sums[k]! * sums[k]!) / n;
      const all = within / ((n - 1) * pixelCount);
      const meanDn = frameMeans.reduce((a, b) => a + b, 0) / n;
      const ofMeans = frameMeans.reduce((sum, mean) => sum + (mean - meanDn) ** 2, 0) / (n - 1);
      const flicker = Math.max(0, ofMeans - all / pixelCount);
      const temporal = Math.max(0, all - flicker);
      const spatial = varianceInBlocks(sums, n, region);
      return {
        frameCount: n,
        pixelCount,
        meanDn,
        temporalVarianceDn2: temporal,
        temporalVarianceStdDn2: temporal * Math.sqrt(2 / ((n - 1) * pixelCount)),
        spatialVarianceDn2: spatial - temporal / n,
        spatialVarianceStdDn2: spatial * Math.sqrt(2 / pixelCount),
        flickerStdDn: Math.sqrt(flicker),
        saturatedFraction: saturated / (n * pixelCount),
        blackFraction: black / (n * pixelCount),
      };
    },
  };
}

/** Variance of the mean frame within blocks, mean over the blocks by their degrees of freedom. */
function varianceInBlocks(sums: Float64Array, frames: number, { widthPx, heightPx }: Region): number {
  let total = 0;
  let freedom = 0;
  for (let y = 0; y < heightPx; y += blockPx) {
    for (let x = 0; x < widthPx; x += blockPx) {
      const wide = Math.min(blockPx, widthPx - x);
      const high = Math.min(blockPx, heightPx - y);
      let sum = 0;
      let square = 0;
      for (let row = y; row < y + high; row++) {
        for (let k = row * widthPx + x; k < row * widthPx + x + wide; k++) {
          const value = sums[k]! / frames;
          sum += value;
          square += value * value;
        }
      }
      total += square - (sum * sum) / (wide * high);
      freedom += wide * high - 1;
    }
  }
  return freedom === 0 ? 0 : Math.max(0, total / freedom);
}
