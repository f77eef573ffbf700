import type { FocusMeasureDefinition } from './focus-measure-definition.js';

/**
 * Brenner's measure in both directions: mean squared difference of pixels two apart, along x plus along y (MIS2).
 *
 * Formula  mean (I(x+2, y) − I(x, y))² + mean (I(x, y+2) − I(x, y))², each over its own pairs
 * Returns  DN² per pair
 * Trust    white noise of variance v adds 4 v (2 v per direction).
 * Source   Pertuz, Puig & Garcia, Pattern Recognition 46, 1415 (2013); there x only
 * Checked  reference: sums 5600 (x) and 7584 (y) for the 8 × 8 check image
 */
export const brenner: FocusMeasureDefinition = {
  unit: 'DN²',
  sums: ['two-apart-x-squares', 'two-apart-y-squares'],
  value: ([alongX, alongY], { widthPx, heightPx }) =>
    Number(alongX) / ((widthPx - 2) * heightPx) + Number(alongY) / (widthPx * (heightPx - 2)),
};
