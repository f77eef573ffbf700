import type { FocusMeasureDefinition } from './focus-measure-definition.js';

/**
 * Modified Laplacian: mean of the absolute second differences along x and y (LAP2, step 1).
 *
 * Formula  mean[|2I − I(x−1) − I(x+1)| + |2I − I(y−1) − I(y+1)|]
 * Returns  DN per pixel of the (w − 2)(h − 2) interior
 * Trust    linear in contrast, so curves are broader than those of the squared measures; the noise adds most where the
 *          picture is flat: 2·√(12/π)·σ there.
 * Source   Nayar & Nakagawa, IEEE PAMI 16, 824 (1994) (cited from memory); Pertuz, Puig & Garcia (2013)
 * Checked  reference: sum 1308 for the 8 × 8 check image
 */
export const modifiedLaplacian: FocusMeasureDefinition = {
  unit: 'DN',
  sums: ['second-differences'],
  value: ([sum], { widthPx, heightPx }) => Number(sum) / ((widthPx - 2) * (heightPx - 2)),
};
