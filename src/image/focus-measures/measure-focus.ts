import {
  type GreyImage,
  type Region,
  regionInWords,
  requireGreyImage,
  requireRegion,
  wholeFrame,
} from '../grey-image.js';
import { brenner } from './brenner.js';
import { gradientEnergy } from './gradient-energy.js';
import { laplacianVariance } from './laplacian-variance.js';
import { modifiedLaplacian } from './modified-laplacian.js';
import { normalisedVariance } from './normalised-variance.js';
import { tenengrad } from './tenengrad.js';
import { vollathF4 } from './vollath-f4.js';

/** Every focus measure by name. */
export const focusMeasures = {
  'laplacian-variance': laplacianVariance,
  tenengrad,
  brenner,
  'gradient-energy': gradientEnergy,
  'normalised-variance': normalisedVariance,
  'modified-laplacian': modifiedLaplacian,
  'vollath-f4': vollathF4,
} as const satisfies Record<string, (image: GreyImage, region: Region) => number>;

/** Name of a focus measure. */
export type FocusMeasure = keyof typeof focusMeasures;

/** The names, in the order of the documentation. */
export const focusMeasureNames = Object.keys(focusMeasures) as FocusMeasure[];

/** Smallest region, in pixels each way, on which every measure is defined. */
export const smallestFocusRegionPx = 3;

/**
 * Sharpness of a region by one of the published focus measures, per pixel, so that region sizes can be compared.
 *
 * Input    8 … 16 bit grey values, linear; the region defaults to the whole frame
 * Returns  DN² per pixel (laplacian-variance, tenengrad, brenner, gradient-energy, vollath-f4), DN per pixel
 *          (modified-laplacian) or dimensionless (normalised-variance)
 * Throws   RangeError for an unknown measure, a region outside the frame or smaller than 3 × 3 px.
 * Trust    compare values of one scene, exposure and region only; noise adds a floor: see focusMeasureNoise.
 * Source   Pertuz, Puig & Garcia, Pattern Recognition 46, 1415 (2013)
 * Checked  reference: 8 × 8 check image (3x² + 5y + 7xy) mod 32, computed with numpy
 */
export function measureFocus({
  image,
  region = wholeFrame(image),
  measure,
}: {
  image: GreyImage;
  region?: Region;
  measure: FocusMeasure;
}): number {
  requireFocusRegion(image, region);
  return requireMeasure(measure)(image, region);
}

/** Checks a region for the focus measures: inside the frame and at least 3 × 3 px. */
export function requireFocusRegion(image: GreyImage, region: Region): void {
  requireGreyImage('image', image);
  requireRegion('region', region, image);
  if (Math.min(region.widthPx, region.heightPx) < smallestFocusRegionPx) {
    throw new RangeError(
      `region is ${regionInWords(region)}; allowed: at least ${smallestFocusRegionPx} × ${smallestFocusRegionPx} px`,
    );
  }
}

function requireMeasure(measure: FocusMeasure): (image: GreyImage, region: Region) => number {
  if (!Object.hasOwn(focusMeasures, measure)) {
    throw new RangeError(`measure is ${String(measure)}; allowed: ${focusMeasureNames.join(', ')}`);
  }
  return focusMeasures[measure];
}
