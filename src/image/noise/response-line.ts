import type { Estimate } from '../../base/index.js';
import { meanStdDn } from './dark-signal.js';
import type { NoiseLevel } from './photon-transfer.js';
import { fitStraightLine } from './straight-line.js';

/** The mean over the exposure as a straight line. */
export interface ResponseLine {
  /** At zero exposure: the black level, where the light did not change between the levels. */
  black: Estimate;
  /** Largest departure from the line, as a fraction of the line's rise there. */
  deviationFraction: number;
}

/** Three different exposures at least make a line that can be judged. */
const fewestExposures = 3;

/**
 * Linearity of the response, and the black level where there are no dark frames.
 *
 * Formula  mean = black + response · exposure, points weighted by their relative uncertainty
 * Returns  null with fewer than three known exposures
 * Trust    only where the light was the same at all levels.
 */
export function responseLine(levels: readonly NoiseLevel[]): ResponseLine | null {
  const known = levels.flatMap((level) => (level.exposureMs === null ? [] : [{ ...level, x: level.exposureMs }]));
  if (new Set(known.map(({ x }) => x)).size < fewestExposures) return null;
  const line = fitStraightLine(known.map((level) => ({ x: level.x, y: level.meanDn, std: meanStdDn(level) })));
  const deviations = known.map(
    ({ x, meanDn }) => Math.abs(meanDn - line.intercept - line.slope * x) / (line.slope * x),
  );
  return {
    black: { value: line.intercept, std: Math.sqrt(line.interceptVariance) },
    deviationFraction: Math.max(...deviations.filter(Number.isFinite), 0),
  };
}
