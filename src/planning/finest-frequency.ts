import { bracketedRoot } from '../optics/index.js';

/** The finest pattern with enough contrast, and what ends it. */
export interface FinestFrequency {
  /** On the sensor. */
  frequencyPerMm: number;
  limitedBy: 'contrast' | 'sampling';
}

/** Step by which the frequency is raised or lowered in search of the crossing. */
const stepRatio = 1.25;
/** Frequencies below this share of the Nyquist limit, periods wider than 200 pixels, are not looked for. */
const coarsestShare = 0.01;

/**
 * Highest frequency at which the contrast still meets a threshold, at most the Nyquist limit.
 *
 * Model    looked for from a start in steps of a quarter, then bracketed; where contrast comes back after a zero, the
 *          first crossing from the start counts
 * Returns  null where not even very coarse patterns have the contrast.
 */
export function finestFrequency({
  mtfAt,
  contrastNeeded,
  startPerMm,
  nyquistPerMm,
}: {
  mtfAt: (frequencyPerMm: number) => number;
  contrastNeeded: number;
  startPerMm: number;
  nyquistPerMm: number;
}): FinestFrequency | null {
  const spare = (frequencyPerMm: number) => mtfAt(frequencyPerMm) - contrastNeeded;
  let low = Math.min(startPerMm, nyquistPerMm);
  let high = low;
  let lowValue = spare(low);
  let highValue = lowValue;
  if (lowValue >= 0) {
    while (highValue >= 0) {
      if (high === nyquistPerMm) return { frequencyPerMm: nyquistPerMm, limitedBy: 'sampling' };
      low = high;
      lowValue = highValue;
      high = Math.min(nyquistPerMm, high * stepRatio);
      highValue = spare(high);
    }
  } else {
    while (lowValue < 0) {
      if (low < coarsestShare * nyquistPerMm) return null;
      high = low;
      highValue = lowValue;
      low /= stepRatio;
      lowValue = spare(low);
    }
  }
  const bracket = { low, high, lowValue, highValue };
  return { frequencyPerMm: bracketedRoot({ of: spare, ...bracket, tolerance: 1e-4 * high }), limitedBy: 'contrast' };
}
