import type { Estimate } from '../../base/index.js';
import type { NoiseLevel } from './photon-transfer.js';
import { fitStraightLine } from './straight-line.js';

/** Mean grey value without light: at zero exposure, and how it rises. */
export interface DarkSignal {
  black: Estimate;
  /** Null with one exposure only, or where none is known. */
  riseDnPerS: Estimate | null;
}

/**
 * Black level and dark signal from dark levels: the mean at zero exposure, and its rise with the exposure.
 *
 * Formula  mean = black + rise · exposure, where there are two exposures at least; else the mean of the dark levels
 * Returns  null without dark levels
 * Trust    in the black level, not in the rise, where the camera corrects its dark signal itself.
 */
export function darkSignal(darks: readonly NoiseLevel[]): DarkSignal | null {
  if (darks.length === 0) return null;
  const points = darks.flatMap((level) =>
    level.exposureMs === null ? [] : [{ x: level.exposureMs, y: level.meanDn, std: meanStdDn(level) }],
  );
  const exposures = new Set(points.map(({ x }) => x));
  if (exposures.size < 2) {
    const value = darks.reduce((sum, { meanDn }) => sum + meanDn, 0) / darks.length;
    return { black: { value, std: Math.max(...darks.map(meanStdDn)) }, riseDnPerS: null };
  }
  const line = fitStraightLine(points);
  return {
    black: { value: line.intercept, std: Math.sqrt(line.interceptVariance) },
    riseDnPerS: { value: 1000 * line.slope, std: 1000 * Math.sqrt(line.slopeVariance) },
  };
}

/** Uncertainty of a level's mean: noise of its pixels, and what its frames' means vary. */
export function meanStdDn({ temporalVarianceDn2, flickerStdDn, pixelCount, frameCount }: NoiseLevel): number {
  return Math.sqrt((temporalVarianceDn2 / pixelCount + flickerStdDn ** 2 + 1e-8) / frameCount);
}
