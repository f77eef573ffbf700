import type { GreyImage, Region } from '../grey-image.js';
import { regionInWords, requireGreyImage, requireRegion, wholeFrame } from '../grey-image.js';
import { regionStatistics } from '../region-statistics.js';
import { focusMeasureNoise } from './focus-measure-noise.js';
import {
  type FocusMeasure,
  focusMeasureNames,
  focusMeasures,
  measureFocusByAll,
  smallestFocusRegionPx,
} from './measure-focus.js';

/** One focus measure of a region. */
export interface FocusValue {
  name: FocusMeasure;
  value: number;
  /** Of value, std and noise floor; empty: dimensionless. */
  unit: 'DN²' | 'DN' | '';
  /** Standard deviation from frame to frame under the stated noise; null where no noise was given. */
  std: number | null;
  /** What noise alone adds; null where no noise was given. */
  noiseFloor: number | null;
}

/** Why a region cannot be measured. */
export type FocusRefusal = 'region-too-small' | 'black' | 'saturated';

/** The focus measures of one region, or an honest refusal. */
export type FocusReading = { region: Region } & (
  | {
      kind: 'measured';
      meanGreyDn: number;
      /** Share of pixels at the largest grey value, 0 … 1. */
      saturatedFraction: number;
      values: FocusValue[];
    }
  | { kind: 'refused'; reason: FocusRefusal; message: string; remedy: string }
);

/** Above this share of saturated pixels what is left of the scene says little about its sharpness. Chosen here. */
const mostSaturatedFraction = 0.5;
/** Smallest side for an estimate of noise. */
const smallestNoiseRegionPx = 9;

/**
 * Reads several focus measures of several regions, each with its noise where that is known.
 *
 * Input    regions default to the whole frame, measures to all; noiseStdDn: temporal noise of one pixel, as focusMeasureNoise
 * Returns  one reading for each region, in order; a region that is too small, black or saturated is refused
 * Throws   RangeError for a region outside the frame or an unknown measure.
 */
export function readFocus({
  image,
  regions = [wholeFrame(image)],
  measures = focusMeasureNames,
  noiseStdDn = null,
}: {
  image: GreyImage;
  regions?: readonly Region[];
  measures?: readonly FocusMeasure[];
  noiseStdDn?: number | null;
}): FocusReading[] {
  requireGreyImage('image', image);
  return regions.map((region) => readRegion({ image, region, measures, noiseStdDn }));
}

function readRegion({
  image,
  region,
  measures,
  noiseStdDn,
}: {
  image: GreyImage;
  region: Region;
  measures: readonly FocusMeasure[];
  noiseStdDn: number | null;
}): FocusReading {
  requireRegion('region', region, image);
  const refuse = (reason: FocusRefusal, message: string, remedy: string): FocusReading => ({
    kind: 'refused',
    region,
    reason,
    message,
    remedy,
  });
  const shortSidePx = Math.min(region.widthPx, region.heightPx);
  const needsPx = noiseStdDn === null ? smallestFocusRegionPx : smallestNoiseRegionPx;
  if (shortSidePx < needsPx) {
    return refuse(
      'region-too-small',
      `The region is ${regionInWords(region)}.`,
      `Choose at least ${needsPx} × ${needsPx} px.`,
    );
  }
  const { meanDn, saturatedFraction, blackFraction } = regionStatistics({ image, region });
  if (blackFraction === 1) {
    return refuse('black', 'Every pixel is zero.', 'Use more light or exposure, and a black level above zero.');
  }
  if (saturatedFraction > mostSaturatedFraction) {
    const share = `${(100 * saturatedFraction).toFixed(0)} % of the pixels are saturated.`;
    return refuse('saturated', share, 'Use less light, exposure or gain.');
  }
  return {
    kind: 'measured',
    region,
    meanGreyDn: meanDn,
    saturatedFraction,
    values: measureFocusByAll({ image, region, measures }).map((value, i) => {
      const name = measures[i]!;
      const noise = noiseStdDn === null ? null : focusMeasureNoise({ image, region, measure: name, noiseStdDn });
      return {
        name,
        value,
        unit: focusMeasures[name].unit,
        std: noise?.std ?? null,
        noiseFloor: noise?.noiseFloor ?? null,
      };
    }),
  };
}
