import type { FocusMeasureDefinition } from './focus-measure-definition.js';

/**
 * Gradient energy: mean squared forward difference (GRA2).
 *
 * Formula  mean[(I(x+1, y) − I)² + (I(x, y+1) − I)²]
 * Returns  DN² per pixel of the (w − 1)(h − 1) grid
 * Trust    white noise of variance v adds 4 v.
 * Source   Pertuz, Puig & Garcia, Pattern Recognition 46, 1415 (2013)
 * Checked  reference: sum 15520 for the 8 × 8 check image
 */
export const gradientEnergy: FocusMeasureDefinition = {
  unit: 'DN²',
  sums: ['forward-squares'],
  value: ([squares], { widthPx, heightPx }) => Number(squares) / ((widthPx - 1) * (heightPx - 1)),
};
