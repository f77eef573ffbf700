import type { GreyImage, Region } from '../grey-image.js';

/** Noise of one pixel against its grey value: standard deviation in DN. */
export type PixelNoise = (greyDn: number) => number;

/** Median of min(|a − b|, |a − c|) for three values of unit Gaussian noise. By simulation of 4 million triples with numpy. */
const medianOfSmaller = 0.5476;

/**
 * Noise from differences of neighbours, as a line of variance against grey value (photon noise rises with the light).
 *
 * Model    per pixel the smaller of the steps to the right and down: an edge crosses only one of them; its median in bins of
 *          grey value; a line through the bins' variances, weighted by their counts
 * Trust    texture finer than a few pixels counts as noise. Never below what rounding to whole grey values adds.
 */
export function pixelNoise({ data, widthPx: w }: GreyImage, region: Region): PixelNoise {
  const bins = 24;
  const steps: number[][] = Array.from({ length: bins }, () => []);
  let low = Number.POSITIVE_INFINITY;
  let high = 0;
  const stride = Math.max(1, Math.floor(Math.sqrt((region.widthPx * region.heightPx) / 60_000)));
  const each = (visit: (i: number) => void) => {
    for (let y = 0; y < region.heightPx - 1; y += stride) {
      for (let x = 0; x < region.widthPx - 1; x += stride) visit((region.yPx + y) * w + region.xPx + x);
    }
  };
  each((i) => {
    low = Math.min(low, data[i]!);
    high = Math.max(high, data[i]!);
  });
  each((i) => {
    const value = data[i]!;
    const bin = Math.min(bins - 1, Math.floor((bins * (value - low)) / Math.max(1, high - low)));
    steps[bin]!.push(Math.min(Math.abs(data[i + 1]! - value), Math.abs(data[i + w]! - value)));
  });
  const points = steps.flatMap((list, bin) => {
    if (list.length < 30) return [];
    list.sort((a, b) => a - b);
    const std = list[list.length >> 1]! / medianOfSmaller;
    return [{ grey: low + ((bin + 0.5) / bins) * (high - low), variance: std * std, weight: list.length }];
  });
  const total = points.reduce((sum, p) => sum + p.weight, 0);
  if (total === 0) return () => 0.5;
  // Ripples of a thousandth of the range are no structure, however quiet the picture.
  const least = Math.max(1 / 6, ((high - low) / 1000) ** 2);
  const meanGrey = points.reduce((sum, p) => sum + p.weight * p.grey, 0) / total;
  const meanVariance = points.reduce((sum, p) => sum + p.weight * p.variance, 0) / total;
  const spread = points.reduce((sum, p) => sum + p.weight * (p.grey - meanGrey) ** 2, 0);
  const joint = points.reduce((sum, p) => sum + p.weight * (p.grey - meanGrey) * (p.variance - meanVariance), 0);
  const slope = spread > 0 ? Math.max(0, joint / spread) : 0;
  return (greyDn) => Math.sqrt(Math.max(least, meanVariance / 4, meanVariance + slope * (greyDn - meanGrey)));
}
