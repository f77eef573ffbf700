import type { FocusMeasureDefinition } from './focus-measure-definition.js';

/**
 * Normalised variance: grey-level variance over the squared mean (STA5 with μ²).
 *
 * Formula  mean (I − μ)² / μ²
 * Returns  dimensionless; not changed by a gain, so also by flicker; 0 for a black region
 * Trust    an offset (black level) that is not removed lowers it; white noise of variance v adds v/μ².
 * Source   Groen, Young & Ligthart, Cytometry 6, 81 (1985) divide by μ; μ² makes it free of gain
 * Checked  reference: 0.259078 for the 8 × 8 check image
 */
export const normalisedVariance: FocusMeasureDefinition = {
  unit: '',
  sums: ['values', 'value-squares'],
  value: ([sum, squares], { widthPx, heightPx }) =>
    // n²·variance over n²·μ², from whole numbers, so that nothing is lost where the contrast is low.
    sum === 0n ? 0 : Number(BigInt(widthPx * heightPx) * squares - sum * sum) / Number(sum * sum),
};
