import {
  type GreyImage,
  maxGreyValueDn,
  type Region,
  requireGreyImage,
  requireRegion,
  wholeFrame,
} from './grey-image.js';

/** Grey values of a region, summed up. */
export interface RegionStatistics {
  count: number;
  meanDn: number;
  /** Population standard deviation over the pixels (structure and noise together). */
  stdDn: number;
  minDn: number;
  maxDn: number;
  /** Share of pixels at the largest grey value, 0 … 1. */
  saturatedFraction: number;
  /** Share of pixels at zero, 0 … 1. */
  blackFraction: number;
}

/**
 * Mean, spread, extremes and clipped shares of a region (the whole frame when none is given).
 *
 * Input    8 … 16 bit grey values
 * Throws   RangeError if the region leaves the frame.
 * Trust    a camera that clips below 2^bitDepth − 1 (offset, companding) shows no saturation here.
 * Cost     one pass
 * Checked  reference: mean 16.75, variance 72.6875 of the 8 × 8 check image, computed with numpy
 */
export function regionStatistics({
  image,
  region = wholeFrame(image),
}: {
  image: GreyImage;
  region?: Region;
}): RegionStatistics {
  requireGreyImage('image', image);
  requireRegion('region', region, image);
  const { data, widthPx } = image;
  const full = maxGreyValueDn(image);
  const pivot = data[region.yPx * widthPx + region.xPx]!;
  let sum = 0;
  let sumOfSquares = 0;
  let minDn = full;
  let maxDn = 0;
  let saturated = 0;
  let black = 0;
  for (let y = region.yPx; y < region.yPx + region.heightPx; y++) {
    const start = y * widthPx + region.xPx;
    for (let i = start; i < start + region.widthPx; i++) {
      const value = data[i]!;
      const above = value - pivot;
      sum += above;
      sumOfSquares += above * above;
      if (value < minDn) minDn = value;
      if (value > maxDn) maxDn = value;
      if (value >= full) saturated++;
      if (value === 0) black++;
    }
  }
  const count = region.widthPx * region.heightPx;
  const mean = sum / count;
  return {
    count,
    meanDn: pivot + mean,
    stdDn: Math.sqrt(Math.max(0, sumOfSquares / count - mean * mean)),
    minDn,
    maxDn,
    saturatedFraction: saturated / count,
    blackFraction: black / count,
  };
}
