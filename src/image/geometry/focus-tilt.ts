import {
  choleskyFactor,
  choleskyInverse,
  choleskySolve,
  degFromRad,
  type Estimate,
  requirePositive,
} from '../../base/index.js';
import type { HeightMap } from '../stack/height-map.js';

/** How the plane of best focus lies over the field, or why it cannot be told. */
export type FocusTilt =
  | {
      kind: 'measured';
      /** Working distance of the plane in the middle of the field. */
      middleMm: Estimate;
      /** Rise of the working distance to the right and downwards, as angles. */
      tiltXDeg: Estimate;
      tiltYDeg: Estimate;
      /** Working distance added at the corner by curvature of the field (or of the object). */
      cornerSagMm: Estimate;
      residualRmsMm: number;
      /** Difference of working distance that the tilt makes from corner to corner. */
      acrossFieldMm: number;
      /** That difference as a share of the quarter-wave depth of field: below 1 the whole field can be sharp at once. */
      depthShare: number;
      usedBlocks: number;
      shim: ShimAdvice;
    }
  | { kind: 'refused'; reason: 'too-few' | 'one-sided'; message: string; remedy: string };

/** What to put under the camera's flange so that the sensor follows the object's tilt. */
export interface ShimAdvice {
  /** Width over which the shim tips the camera. */
  flangeWidthMm: number;
  /** Thickness at the right or left, and at the lower or upper side, seen from behind the camera. */
  horizontalUm: Estimate;
  horizontalSide: 'right' | 'left';
  verticalUm: Estimate;
  verticalSide: 'bottom' | 'top';
}

/** Blocks that share one window's texture, so that their errors are alike: (256/70)². */
const blocksPerWindow = (256 / 70) ** 2;
const fewestBlocks = 40;
const outlierStds = 4;

/**
 * Tilt of the object plane against the sensor, from best focus over the field.
 *
 * Model    working distance = z0 + a·x + b·y + c·r², x to the right and y downwards on the object from the middle of the
 *          field; weighted least squares with outliers left out twice. The sensor follows a tilt by Scheimpflug's rule.
 * Formula  shim = flange width · |m| · slope, on the side where the object lies farther (the lens inverts)
 * Input    a height map of a flat target; `magnification` at it; `pixelPitchUm`; `flangeWidthMm`
 * Returns  see FocusTilt. Standard deviations count a window of 13 blocks once and grow with the residual.
 * Throws   RangeError naming the field, if one is not > 0.
 * Trust    tells the tilt of the target against the sensor, whichever of the two leans; the picture must be shown upright,
 *          neither mirrored nor turned.
 * Source   slope of the image = |m| · slope of the object: longitudinal over lateral magnification, docs/image/height-map.md
 * Checked  recovery: a known tilt rendered by numpy, tests/image/stack/height-map.test.ts
 */
export function focusTilt({
  heights,
  widthPx,
  heightPx,
  magnification,
  pixelPitchUm,
  flangeWidthMm,
}: {
  heights: HeightMap;
  widthPx: number;
  heightPx: number;
  magnification: number;
  pixelPitchUm: number;
  flangeWidthMm: number;
}): FocusTilt {
  requirePositive('flangeWidthMm', flangeWidthMm, 'mm');
  const pixelMm = requirePositive('pixelPitchUm', pixelPitchUm, 'µm') / 1000 / Math.abs(magnification);
  const points: Point[] = [];
  heights.heightsMm.forEach((height, b) => {
    if (Number.isNaN(height)) return;
    const column = b % heights.columns;
    const row = Math.floor(b / heights.columns);
    points.push({
      x: ((column + 0.5) * heights.stepPx - widthPx / 2) * pixelMm,
      y: ((row + 0.5) * heights.stepPx - heightPx / 2) * pixelMm,
      z: heights.zeroWorkingDistanceMm - height,
      std: heights.stdsMm[b]!,
    });
  });
  if (points.length < fewestBlocks)
    return refused(
      'too-few',
      `Best focus was found in ${points.length} places; ${fewestBlocks} are needed.`,
      'Use a flat target with texture all over the field, and a sweep that spans its focus everywhere.',
    );
  const spread = (key: 'x' | 'y') => Math.max(...points.map((p) => p[key])) - Math.min(...points.map((p) => p[key]));
  if (spread('x') < 0.4 * widthPx * pixelMm || spread('y') < 0.4 * heightPx * pixelMm) {
    return refused(
      'one-sided',
      'Best focus was found in one part of the field only.',
      'Use a flat target with texture all over the field.',
    );
  }
  const corner2 = ((widthPx ** 2 + heightPx ** 2) / 4) * pixelMm ** 2;
  let used = points;
  let fit = fitSurface(used, corner2);
  for (let pass = 0; pass < 2; pass++) {
    const scatter = Math.max(fit.residualRms, 1e-9);
    used = points.filter((p) => Math.abs(p.z - surfaceAt(fit.parameters, p, corner2)) < outlierStds * scatter);
    fit = fitSurface(used, corner2);
  }
  const [z0, a, b, c] = fit.parameters;
  const estimate = (value: number, k: number, factor = 1): Estimate => ({
    value: value * factor,
    std: fit.stds[k]! * Math.abs(factor),
  });
  const angle = (slope: number, k: number): Estimate => ({
    value: degFromRad(Math.atan(slope)),
    std: degFromRad(fit.stds[k]! / (1 + slope ** 2)),
  });
  const across = (Math.abs(a) * widthPx + Math.abs(b) * heightPx) * pixelMm;
  const toShim = 1000 * flangeWidthMm * Math.abs(magnification);
  return {
    kind: 'measured',
    middleMm: estimate(z0, 0),
    tiltXDeg: angle(a, 1),
    tiltYDeg: angle(b, 2),
    cornerSagMm: estimate(c, 3),
    residualRmsMm: fit.residualRms,
    acrossFieldMm: across,
    depthShare: across / heights.depthOfFieldMm,
    usedBlocks: used.length,
    shim: {
      flangeWidthMm,
      horizontalUm: estimate(Math.abs(a), 1, toShim),
      horizontalSide: a >= 0 ? 'right' : 'left',
      verticalUm: estimate(Math.abs(b), 2, toShim),
      verticalSide: b >= 0 ? 'bottom' : 'top',
    },
  };
}

interface Point {
  x: number;
  y: number;
  z: number;
  std: number;
}

type Surface = [middle: number, slopeX: number, slopeY: number, cornerSag: number];

const termsOf = (p: Point, corner2: number) => [1, p.x, p.y, (p.x ** 2 + p.y ** 2) / corner2];

const surfaceAt = (surface: Surface, p: Point, corner2: number): number =>
  termsOf(p, corner2).reduce((sum, term, k) => sum + term * surface[k]!, 0);

function fitSurface(points: readonly Point[], corner2: number) {
  const normal = new Float64Array(16);
  const right = new Float64Array(4);
  const floor = 0.25 * medianStd(points);
  const weightOf = (p: Point) => 1 / (p.std ** 2 + floor ** 2);
  for (const p of points) {
    const terms = termsOf(p, corner2);
    const weight = weightOf(p);
    for (let i = 0; i < 4; i++) {
      right[i] = right[i]! + weight * terms[i]! * p.z;
      for (let j = 0; j < 4; j++) normal[4 * i + j] = normal[4 * i + j]! + weight * terms[i]! * terms[j]!;
    }
  }
  const factor = choleskyFactor(normal, 4);
  if (factor === null) throw new RangeError('the points lie on a line; allowed: points all over the field');
  const parameters = [...choleskySolve(factor, 4, right)] as Surface;
  const inverse = choleskyInverse(factor, 4);
  let chi2 = 0;
  let squares = 0;
  for (const p of points) {
    const residual = p.z - surfaceAt(parameters, p, corner2);
    chi2 += weightOf(p) * residual ** 2;
    squares += residual ** 2;
  }
  const scale = blocksPerWindow * Math.max(1, chi2 / Math.max(1, points.length - 4));
  return {
    parameters,
    stds: [0, 5, 10, 15].map((at) => Math.sqrt(inverse[at]! * scale)),
    residualRms: Math.sqrt(squares / points.length),
  };
}

const medianStd = (points: readonly Point[]): number =>
  points.map((p) => p.std).sort((a, b) => a - b)[points.length >> 1]!;

const refused = (reason: 'too-few' | 'one-sided', message: string, remedy: string): FocusTilt => ({
  kind: 'refused',
  reason,
  message,
  remedy,
});
