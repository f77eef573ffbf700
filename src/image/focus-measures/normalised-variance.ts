import type { GreyImage, Region } from '../grey-image.js';
import { regionStatistics } from '../region-statistics.js';

/**
 * Normalised variance: grey-level variance over the squared mean (STA5 with μ²).
 *
 * Formula  mean (I − μ)² / μ²
 * Returns  dimensionless; not changed by a gain, so also by flicker; 0 for a black region
 * Trust    an offset (black level) that is not removed lowers it; white noise of variance v adds v/μ².
 * Source   Groen, Young & Ligthart, Cytometry 6, 81 (1985) divide by μ; μ² makes it free of gain
 * Checked  reference: 0.259078 for the 8 × 8 check image
 */
export function normalisedVariance(image: GreyImage, region: Region): number {
  const { meanDn, stdDn } = regionStatistics({ image, region });
  return meanDn === 0 ? 0 : (stdDn / meanDn) ** 2;
}
