import type { GreyImage, Region } from '../grey-image.js';

/**
 * Vollath's F4: autocorrelation at one pixel minus at two, along x, per row pixel (MIS9).
 *
 * Formula  [Σ I(x)·I(x+1) − Σ I(x)·I(x+2)] / (w·h); the first sum has w − 1 pairs a row, the second w − 2
 * Returns  DN² per pixel; may be negative
 * Trust    white noise adds nothing on average. The sums have different numbers of pairs, so the picture's mean leaks in
 *          (μ²/w): compare values of one region size and one brightness only.
 * Source   Vollath, J. Microsc. 151, 133 (1988) (cited from memory); Pertuz, Puig & Garcia (2013)
 * Checked  reference: 1384 for the 8 × 8 check image (sum)
 */
export function vollathF4(image: GreyImage, region: Region): number {
  const { data, widthPx: w } = image;
  let sum = 0;
  for (let y = region.yPx; y < region.yPx + region.heightPx; y++) {
    const start = y * w + region.xPx;
    const end = start + region.widthPx;
    for (let i = start; i < end - 2; i++) sum += data[i]! * (data[i + 1]! - data[i + 2]!);
    sum += data[end - 2]! * data[end - 1]!;
  }
  return sum / (region.widthPx * region.heightPx);
}
