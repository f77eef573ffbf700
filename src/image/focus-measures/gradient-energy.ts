import type { GreyImage, Region } from '../grey-image.js';

/**
 * Gradient energy: mean squared forward difference (GRA2).
 *
 * Formula  mean[(I(x+1, y) − I)² + (I(x, y+1) − I)²]
 * Returns  DN² per pixel of the (w − 1)(h − 1) grid
 * Trust    white noise of variance v adds 4 v.
 * Source   Pertuz, Puig & Garcia, Pattern Recognition 46, 1415 (2013)
 * Checked  reference: sum 15520 for the 8 × 8 check image
 */
export function gradientEnergy(image: GreyImage, region: Region): number {
  const { data, widthPx: w } = image;
  let sum = 0;
  for (let y = region.yPx; y < region.yPx + region.heightPx - 1; y++) {
    const end = y * w + region.xPx + region.widthPx - 1;
    for (let i = y * w + region.xPx; i < end; i++) {
      const value = data[i]!;
      const dx = data[i + 1]! - value;
      const dy = data[i + w]! - value;
      sum += dx * dx + dy * dy;
    }
  }
  return sum / ((region.widthPx - 1) * (region.heightPx - 1));
}
