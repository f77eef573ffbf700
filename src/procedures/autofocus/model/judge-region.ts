import { type GreyImage, maxGreyValueDn, type Region } from '../../../image/index.js';
import type { FocusRefusalReason } from '../../../station/index.js';

/** What a region's grey values say before any spectrum is looked at. */
export interface RegionLevels {
  meanDn: number;
  saturatedShare: number;
  /** Share of pixels at 0. */
  blackShare: number;
  /** Differs between frames that differ in any pixel (all but surely). */
  fingerprint: number;
}

const mostSaturated = 0.02;
const mostBlack = 0.9;
const saturatedFrom = 0.995;

/** Counts saturated and black pixels of a region in one pass. */
export function regionLevels(image: GreyImage, region: Region): RegionLevels {
  const top = saturatedFrom * maxGreyValueDn(image);
  let sum = 0;
  let saturated = 0;
  let black = 0;
  let fingerprint = 0;
  for (let y = region.yPx; y < region.yPx + region.heightPx; y++) {
    const start = y * image.widthPx + region.xPx;
    for (let i = start; i < start + region.widthPx; i++) {
      const value = image.data[i]!;
      sum += value;
      if (value >= top) saturated++;
      if (value === 0) black++;
      fingerprint = (Math.imul(fingerprint, 31) + value) | 0;
    }
  }
  const pixels = region.widthPx * region.heightPx;
  return { meanDn: sum / pixels, saturatedShare: saturated / pixels, blackShare: black / pixels, fingerprint };
}

/** Refuses a region whose grey values cannot show focus; null where they can. */
export function refuseLevels(levels: RegionLevels): { reason: FocusRefusalReason; message: string } | null {
  const percent = (share: number) => `${(100 * share).toFixed(1)} %`;
  if (levels.saturatedShare > mostSaturated) {
    return {
      reason: 'saturated',
      message: `${percent(levels.saturatedShare)} of the region’s pixels are saturated; at most ${percent(mostSaturated)} may be.`,
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
