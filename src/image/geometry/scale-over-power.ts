import type { Estimate } from '../../base/index.js';
import { fitStraightLine } from '../noise/straight-line.js';

/** Size of a pixel on the target, as one frame of a power shows it. */
export interface ScaleAtPower {
  focalPowerDpt: number;
  pixelMm: number;
  pixelStdMm: number;
}

/** How the scale of a target at rest changes with focal power (focus breathing), or why it cannot be told. */
export type ScaleOverPower =
  | {
      kind: 'measured';
      /** Mean power by weight: where the scale is known best. */
      meanPowerDpt: number;
      /** At the mean power. */
      pixelMm: Estimate;
      pixelMmPerDpt: Estimate;
      /** Change of scale per dioptre as a share of the scale at the mean power. */
      relativePerDpt: Estimate;
      /** Scatter of the points about the line. */
      residualRmsMm: number;
      /** χ² per degree of freedom; null for two points. Far above 1: not a straight line, or a target that moved. */
      reducedChiSquare: number | null;
    }
  | { kind: 'refused'; reason: 'too-few-powers'; message: string; remedy: string };

/**
 * Change of scale with focal power from frames of one target that stays where it is.
 *
 * Model    a straight line of the pixel's size on the target over power, least squares by the stated deviations, made larger where the
 *          points scatter more
 * Formula  p(P) = p₀ + p′·(P − P̄); relative p′/p₀
 * Returns  see ScaleOverPower; at least two different powers are needed
 * Throws   RangeError for a deviation that is not > 0.
 * Trust    a target or camera that moved between the frames looks like breathing; over several dioptres the line bends.
 * Checked  closed form and recovery: tests/image/geometry/scale-over-power.test.ts
 */
export function scaleOverPower(points: readonly ScaleAtPower[]): ScaleOverPower {
  const wrong = points.find(({ pixelStdMm }) => !(pixelStdMm > 0));
  if (wrong) throw new RangeError(`pixelStdMm is ${wrong.pixelStdMm} mm; allowed: more than 0`);
  if (new Set(points.map(({ focalPowerDpt }) => focalPowerDpt)).size < 2) {
    return {
      kind: 'refused',
      reason: 'too-few-powers',
      message: `A grid was read at ${points.length === 0 ? 'no' : 'one'} focal power only.`,
      remedy: 'Record frames of the target at two powers or more, all with the grid sharp enough to be read.',
    };
  }
  const weight = points.reduce((sum, { pixelStdMm }) => sum + pixelStdMm ** -2, 0);
  const meanPowerDpt =
    points.reduce((sum, { focalPowerDpt, pixelStdMm }) => sum + focalPowerDpt / pixelStdMm ** 2, 0) / weight;
  const line = fitStraightLine(
    points.map(({ focalPowerDpt, pixelMm, pixelStdMm }) => ({
      x: focalPowerDpt - meanPowerDpt,
      y: pixelMm,
      std: pixelStdMm,
    })),
  );
  const { slope, intercept } = line;
  const [slopeStd, scaleStd] = [Math.sqrt(line.slopeVariance), Math.sqrt(line.interceptVariance)];
  const squares = points.reduce(
    (sum, { focalPowerDpt, pixelMm }) => sum + (pixelMm - intercept - slope * (focalPowerDpt - meanPowerDpt)) ** 2,
    0,
  );
  return {
    kind: 'measured',
    meanPowerDpt,
    pixelMm: { value: intercept, std: scaleStd },
    pixelMmPerDpt: { value: slope, std: slopeStd },
    // About the mean power both errors are independent.
    relativePerDpt: { value: slope / intercept, std: Math.hypot(slopeStd, (slope / intercept) * scaleStd) / intercept },
    residualRmsMm: Math.sqrt(squares / points.length),
    reducedChiSquare: line.reducedChiSquare,
  };
}
