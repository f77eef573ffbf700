import {
  type GreyImage,
  type Region,
  regionInWords,
  requireGreyImage,
  requireRegion,
  wholeFrame,
} from '../grey-image.js';
import { brenner } from './brenner.js';
import { dctEnergyRatio } from './dct-energy-ratio.js';
import type { FocusMeasureDefinition } from './focus-measure-definition.js';
import { focusSumsFast } from './focus-sums.fast.js';
import { gradientEnergy } from './gradient-energy.js';
import { laplacianEnergy } from './laplacian-energy.js';
import { laplacianVariance } from './laplacian-variance.js';
import { modifiedLaplacian } from './modified-laplacian.js';
import { normalisedVariance } from './normalised-variance.js';
import { tenengrad } from './tenengrad.js';
import { vollathF4 } from './vollath-f4.js';
import { waveletEnergy } from './wavelet-energy.js';

const definitions = {
  'laplacian-variance': laplacianVariance,
  'laplacian-energy': laplacianEnergy,
  tenengrad,
  brenner,
  'gradient-energy': gradientEnergy,
  'normalised-variance': normalisedVariance,
  'modified-laplacian': modifiedLaplacian,
  'vollath-f4': vollathF4,
  'dct-energy-ratio': dctEnergyRatio,
  'wavelet-energy': waveletEnergy,
} as const satisfies Record<string, FocusMeasureDefinition>;

/** Name of a focus measure. */
export type FocusMeasure = keyof typeof definitions;

/** Every focus measure by name. */
export const focusMeasures: Record<FocusMeasure, FocusMeasureDefinition> = definitions;

/** The names, in the order of the documentation. */
export const focusMeasureNames = Object.keys(focusMeasures) as FocusMeasure[];

/** Smallest region, in pixels each way, on which every measure is defined. */
export const smallestFocusRegionPx = 3;

/**
 * Sharpness of a region by one of the published focus measures, per pixel, so that region sizes can be compared.
 *
 * Input    8 … 16 bit grey values, linear; the region defaults to the whole frame
 * Returns  in the measure's unit (focusMeasures): DN² per pixel, DN per pixel (modified-laplacian) or dimensionless
 * Throws   RangeError for an unknown measure, a region outside the frame or smaller than 3 × 3 px.
 * Trust    compare values of one scene, exposure and region only; noise adds a floor: see focusMeasureNoise.
 * Cost     by kernels where they run: 1 ms for 5 Mpx of 8 bit; docs/image/kernels.md
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
  return measureFocusByAll({ image, region, measures: [measure] })[0]!;
}

/** Several focus measures of one region, in the order of `measures`, in one pass over the picture; otherwise as measureFocus. */
export function measureFocusByAll({
  image,
  region = wholeFrame(image),
  measures = focusMeasureNames,
  sumsOf = focusSumsFast,
}: {
  image: GreyImage;
  region?: Region;
  measures?: readonly FocusMeasure[];
  /** focusSums is the readable version. */
  sumsOf?: typeof focusSumsFast;
}): number[] {
  requireFocusRegion(image, region);
  const wanted = measures.map(requireMeasure);
  const names = [...new Set(wanted.flatMap(({ sums }) => sums))];
  const totals = sumsOf(image, region, names);
  return wanted.map(({ sums, value }) => {
    const own = sums.map((name) => totals[names.indexOf(name)]!);
    return value(own as unknown as Parameters<typeof value>[0], region, image);
  });
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

function requireMeasure(measure: FocusMeasure): FocusMeasureDefinition {
  if (!Object.hasOwn(focusMeasures, measure)) {
    throw new RangeError(`measure is ${String(measure)}; allowed: ${focusMeasureNames.join(', ')}`);
  }
  return focusMeasures[measure];
}
