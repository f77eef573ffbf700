import { fitGaussianPeak } from '../../image/gaussian-peak.js';
import { fewestPeakPoints } from '../../image/peak-fit.js';
import type { SeenPoint } from '../sweep/run.js';

/** Least width of a curve, in half-widths of the depth of field: a narrower spike is scatter of the scene, not a slope. */
const narrowest = 0.5;

/**
 * How far each point may lie off the curve because the lens does not come back to the same power.
 *
 * Model    the curve is a Gaussian, fitted to the points as they are; each point was taken at its power ± repeatability
 * Formula  √((F′ r)² + (√3/2 · F″ r²)²), F = height · exp(−(P − peak)² / (2 width²)): first order, and second at the peak
 * Returns  a standard deviation for each point, in the unit of the measure; 0 where no Gaussian fits.
 * Trust    the lens's repeatability is taken from its datasheet, as normal and independent from point to point.
 */
export function lensNoise(
  points: readonly SeenPoint[],
  { repeatabilityDpt, halfWidthDpt }: { repeatabilityDpt: number; halfWidthDpt: number },
): number[] {
  const inOrder = [...points].sort((a, b) => a.focalPowerDpt - b.focalPowerDpt);
  const values = inOrder.map((p) => p.measure);
  if (inOrder.length < fewestPeakPoints || Math.max(...values) === Math.min(...values)) return points.map(() => 0);
  const fit = fitGaussianPeak({ positions: inOrder.map((p) => p.focalPowerDpt), values });
  if (!fit) return points.map(() => 0);
  const width = Math.max(fit.width, narrowest * halfWidthDpt);
  const share = repeatabilityDpt / width;
  return points.map(({ focalPowerDpt }) => {
    const off = (focalPowerDpt - fit.peak) / width;
    const value = fit.height * Math.exp(-(off ** 2) / 2);
    return Math.hypot(value * off * share, (Math.sqrt(3) / 2) * value * (off ** 2 - 1) * share ** 2);
  });
}
