import type { FocusMeasureDefinition } from './focus-measure-definition.js';

/**
 * Energy of the Laplacian over the region's interior (LAP1).
 *
 * Formula  mean (I * L)², L = [0 1 0; 1 −4 1; 0 1 0], over the (w − 2)(h − 2) interior pixels
 * Returns  DN² per pixel
 * Trust    white noise of variance v adds 20 v. Differs from laplacian-variance only by the squared mean, which is near 0.
 * Source   Pertuz, Puig & Garcia, Pattern Recognition 46, 1415 (2013); Subbarao, Choi & Nikzad (1993) (cited from memory)
 * Checked  reference: 2016.4444 for the 8 × 8 check image
 */
export const laplacianEnergy: FocusMeasureDefinition = {
  unit: 'DN²',
  sums: ['laplacian-squares'],
  value: ([squares], { widthPx, heightPx }) => Number(squares) / ((widthPx - 2) * (heightPx - 2)),
};
