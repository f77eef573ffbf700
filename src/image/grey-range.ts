import { type GreyImage, maxGreyValueDn } from './grey-image.js';

/**
 * Grey values that a picture to look at is stretched between: the darkest and the brightest half per cent are left out.
 *
 * Returns  highDn > lowDn, also for a plain frame
 */
export function greyRange(image: GreyImage): { lowDn: number; highDn: number } {
  const counts = new Uint32Array(maxGreyValueDn(image) + 1);
  for (const value of image.data) counts[Math.min(counts.length - 1, value)]!++;
  const share = image.data.length / 200;
  let low = 0;
  for (let sum = counts[0]!; sum < share; ) sum += counts[++low]!;
  let high = counts.length - 1;
  for (let sum = counts[high]!; sum < share; ) sum += counts[--high]!;
  return { lowDn: low, highDn: Math.max(low + 1, high) };
}
