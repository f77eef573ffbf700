import type { FocusMeasureDefinition } from './focus-measure-definition.js';

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
export const vollathF4: FocusMeasureDefinition = {
  unit: 'DN²',
  sums: ['lag-products'],
  value: ([products], region, { data, widthPx: w }) => {
    // The pair at the end of each row has a neighbour, but no second one.
    let ends = 0;
    for (let y = 0; y < region.heightPx; y++) {
      const end = (region.yPx + y) * w + region.xPx + region.widthPx;
      ends += data[end - 2]! * data[end - 1]!;
    }
    return (Number(products) + ends) / (region.widthPx * region.heightPx);
  },
};
