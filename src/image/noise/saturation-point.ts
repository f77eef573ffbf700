import type { NoiseLevel } from './photon-transfer.js';

/** Where the camera saturates: the level of largest temporal variance. */
export interface SaturationPoint {
  meanDn: number;
  /** From the gap to the next levels: the true maximum lies between them. */
  stdDn: number;
  /** Mean of the brightest level, where nearly all pixels stand at the limit; null where none does. */
  plateauDn: number | null;
}

/** Share of the saturation up to which the photon-transfer line is fitted (EMVA 1288). */
const usedShare = 0.7;
/** Above this share of clipped values a level is not used. */
const mostClippedFraction = 0.002;
/** The variance has to fall by this share behind its maximum. */
const leastFall = 0.1;
/** Below this share of the largest variance nearly all pixels stand at the limit. */
const plateauShare = 0.1;

/**
 * The level where the temporal variance is largest, if it falls behind it.
 *
 * Input    lit levels, by rising mean
 * Returns  null where the variance still rises to the last level: saturation is not reached
 * Source   EMVA Standard 1288: saturation at the maximum of the photon-transfer curve (from memory)
 */
export function saturationPoint(lights: readonly NoiseLevel[]): SaturationPoint | null {
  if (lights.length < 2) return null;
  const variances = lights.map(({ temporalVarianceDn2 }) => temporalVarianceDn2);
  const at = variances.indexOf(Math.max(...variances));
  const fallen = variances.slice(at + 1).some((variance) => variance < (1 - leastFall) * variances[at]!);
  if (!fallen) return null;
  const meanDn = lights[at]!.meanDn;
  const gapDn = Math.max(meanDn - (lights[at - 1]?.meanDn ?? meanDn), lights[at + 1]!.meanDn - meanDn);
  const brightest = lights.at(-1)!;
  const plateauDn = brightest.temporalVarianceDn2 < plateauShare * variances[at]! ? brightest.meanDn : null;
  return { meanDn, stdDn: gapDn / Math.sqrt(12), plateauDn };
}

/** The lit levels that the line is fitted to: up to 70 % of the saturation, neither clipped at zero nor saturated. */
export function usableLevels({
  lights,
  saturation,
  blackDn,
}: {
  lights: readonly NoiseLevel[];
  saturation: SaturationPoint | null;
  blackDn: number;
}): NoiseLevel[] {
  const highestDn =
    saturation === null ? Number.POSITIVE_INFINITY : blackDn + usedShare * (saturation.meanDn - blackDn);
  return lights.filter(
    ({ meanDn, saturatedFraction, blackFraction }) =>
      meanDn <= highestDn && saturatedFraction < mostClippedFraction && blackFraction < mostClippedFraction,
  );
}
