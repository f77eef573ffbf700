import { type GreyImage, maxGreyValueDn, type Region } from '../../../image/index.js';
import type { FocusRefusalReason } from '../../../station/index.js';

/** What a region's grey values say before any spectrum is looked at. */
export interface RegionLevels {
  meanDn: number;
  saturatedShare: number;
  /** Share of pixels at 0. */
  blackShare: number;
  /** Brightest grey value, and the share of pixels that have it: many where the sensor is full before full scale. */
  brightestDn: number;
  brightestShare: number;
  /** The brightest value is in the range where sensors become full. */
  isBright: boolean;
  /** Differs between frames that differ in any pixel (all but surely). */
  fingerprint: number;
}

const mostSaturated = 0.02;
const mostBlack = 0.9;
const saturatedFrom = 0.995;
/** A sensor is not full below this share of full scale. */
const fullFrom = 0.4;

/** Counts saturated and black pixels of a region in one pass. */
export function regionLevels(image: GreyImage, region: Region): RegionLevels {
  const top = saturatedFrom * maxGreyValueDn(image);
  let sum = 0;
  let saturated = 0;
  let black = 0;
  let fingerprint = 0;
  let brightestDn = 0;
  let brightest = 0;
  for (let y = region.yPx; y < region.yPx + region.heightPx; y++) {
    const start = y * image.widthPx + region.xPx;
    for (let i = start; i < start + region.widthPx; i++) {
      const value = image.data[i]!;
      sum += value;
      if (value >= top) saturated++;
      if (value === 0) black++;
      if (value > brightestDn) {
        brightestDn = value;
        brightest = 1;
      } else if (value === brightestDn) brightest++;
      fingerprint = (Math.imul(fingerprint, 31) + value) | 0;
    }
  }
  const pixels = region.widthPx * region.heightPx;
  return {
    meanDn: sum / pixels,
    saturatedShare: saturated / pixels,
    blackShare: black / pixels,
    brightestDn,
    brightestShare: brightest / pixels,
    isBright: brightestDn > fullFrom * maxGreyValueDn(image),
    fingerprint,
  };
}

/** Noise from which on many pixels cannot share the brightest value by chance. */
const noisyDn2 = 0.15;

/**
 * Refuses a region whose grey values cannot show focus; null where they can.
 *
 * Input    `noiseDn2`: variance of the frame's noise; drawn pictures without any may have large areas of one value.
 */
export function refuseLevels(
  levels: RegionLevels,
  { noiseDn2 }: { noiseDn2: number },
): { reason: FocusRefusalReason; message: string } | null {
  const percent = (share: number) => `${(100 * share).toFixed(1)} %`;
  if (levels.saturatedShare > mostSaturated) {
    return {
      reason: 'saturated',
      message: `${percent(levels.saturatedShare)} of the region’s pixels are saturated; at most ${percent(mostSaturated)} may be.`,
    };
  }
  if (levels.brightestShare > mostSaturated && levels.isBright && noiseDn2 > noisyDn2) {
    return {
      reason: 'saturated',
      message: `${percent(levels.brightestShare)} of the region’s pixels share the brightest value, ${levels.brightestDn} DN, in spite of noise: the sensor is full there; at most ${percent(mostSaturated)} may be.`,
    };
  }
  if (levels.blackShare > mostBlack) {
    return {
      reason: 'too-dark',
      message: `${percent(levels.blackShare)} of the region’s pixels are black; the mean grey value is ${levels.meanDn.toFixed(2)} DN.`,
    };
  }
  return null;
}
