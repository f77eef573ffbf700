/** A straight line y = intercept + slope · x fitted to weighted points, with the uncertainty of both. */
export interface StraightLine {
  slope: number;
  intercept: number;
  slopeVariance: number;
  interceptVariance: number;
  covariance: number;
  /** Σ ((y − line)/std)² over the degrees of freedom; null for two points. */
  reducedChiSquare: number | null;
}

/**
 * Weighted least squares of a straight line.
 *
 * Formula  minimises Σ ((y − a − b·x)/s)²; the covariance is that of the stated s, made larger by the reduced χ² where it is above 1
 * Input    at least two points with different x; s > 0
 * Source   Bevington & Robinson, Data Reduction and Error Analysis, chapter 6 (from memory; derived again)
 * Checked  reference: numpy.polyfit with weights, references/noise
 */
export function fitStraightLine(points: readonly { x: number; y: number; std: number }[]): StraightLine {
  let w = 0;
  let wx = 0;
  let wy = 0;
  for (const { x, y, std } of points) {
    const weight = 1 / std ** 2;
    w += weight;
    wx += weight * x;
    wy += weight * y;
  }
  // About the weighted mean, so that nothing cancels.
  const meanX = wx / w;
  const meanY = wy / w;
  let sxx = 0;
  let sxy = 0;
  for (const { x, y, std } of points) {
    sxx += (x - meanX) ** 2 / std ** 2;
    sxy += ((x - meanX) * (y - meanY)) / std ** 2;
  }
  if (!(sxx > 0)) throw new RangeError('points all have one x; allowed: at least two different ones');
  const slope = sxy / sxx;
  const intercept = meanY - slope * meanX;
  const freedom = points.length - 2;
  const chiSquare = points.reduce((sum, { x, y, std }) => sum + ((y - intercept - slope * x) / std) ** 2, 0);
  const reducedChiSquare = freedom > 0 ? chiSquare / freedom : null;
  const scale = Math.max(1, reducedChiSquare ?? 1);
  return {
    slope,
    intercept,
    slopeVariance: scale / sxx,
    interceptVariance: scale * (1 / w + meanX ** 2 / sxx),
    covariance: (-scale * meanX) / sxx,
    reducedChiSquare,
  };
}
