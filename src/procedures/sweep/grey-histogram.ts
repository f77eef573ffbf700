import { type GreyImage, maxGreyValueDn, type Region } from '../../image/index.js';

/** How many pixels of a region have each grey value; the index is the value in DN. */
export function greyHistogram(image: GreyImage, region: Region): Uint32Array {
  const counts = new Uint32Array(maxGreyValueDn(image) + 1);
  for (let y = region.yPx; y < region.yPx + region.heightPx; y++) {
    const start = y * image.widthPx + region.xPx;
    for (let i = start; i < start + region.widthPx; i++) counts[image.data[i]!]!++;
  }
  return counts;
}

/** The grey value that all but a share of the pixels stay at or below. */
export function brightLevelDn(counts: Uint32Array, shareAbove: number): number {
  let above = shareAbove * counts.reduce((sum, count) => sum + count, 0);
  let level = counts.length - 1;
  while (level > 0 && above >= counts[level]!) above -= counts[level--]!;
  return level;
}

/** Share of the pixels at or above a grey value. */
export function shareAtOrAbove(counts: Uint32Array, levelDn: number): number {
  let above = 0;
  let total = 0;
  counts.forEach((count, level) => {
    total += count;
    if (level >= levelDn) above += count;
  });
  return above / total;
}
