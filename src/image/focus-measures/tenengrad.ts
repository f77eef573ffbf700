import type { FocusMeasureDefinition } from './focus-measure-definition.js';

/**
 * Tenengrad: mean squared Sobel gradient over the region's interior (GRA6, no threshold).
 *
 * Formula  mean(Gx² + Gy²), Gx = I * [−1 0 1; −2 0 2; −1 0 1], Gy its transpose
 * Returns  DN² per pixel of the (w − 2)(h − 2) interior
 * Trust    white noise of variance v adds 24 v.
 * Source   Pertuz, Puig & Garcia, Pattern Recognition 46, 1415 (2013)
 * Checked  reference: sum 59392 for the 8 × 8 check image; structure in one direction only is seen in both
 */
export const tenengrad: FocusMeasureDefinition = {
  unit: 'DN²',
  sums: ['sobel-squares'],
  value: ([squares], { widthPx, heightPx }) => Number(squares) / ((widthPx - 2) * (heightPx - 2)),
};
