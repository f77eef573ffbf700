import type { FocusMeasureDefinition } from './focus-measure-definition.js';

/**
 * Variance of the Laplacian over the region's interior (LAP4).
 *
 * Formula  var(I * L), L = [0 1 0; 1 −4 1; 0 1 0], population variance over the (w − 2)(h − 2) interior pixels
 * Returns  DN² per pixel
 * Trust    most sensitive to noise of all measures here: white noise of variance v adds 20 v.
 * Source   Pertuz, Puig & Garcia, Pattern Recognition 46, 1415 (2013)
 * Checked  reference: 2012.4444 for the 8 × 8 check image
 */
export const laplacianVariance: FocusMeasureDefinition = {
  unit: 'DN²',
  sums: ['laplacian', 'laplacian-squares'],
  value: ([sum, squares], { widthPx, heightPx }) => {
    const count = (widthPx - 2) * (heightPx - 2);
    return Number(squares) / count - (Number(sum) / count) ** 2;
  },
};
