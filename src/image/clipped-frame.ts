import type { GreyImage } from './grey-image.js';
import { regionStatistics } from './region-statistics.js';

/** From this share of pixels at one end of the range a frame shows nothing. */
const mostOfFrame = 0.999;

/** What to say of a frame that is black or white all over; null for any other. */
export function clippedFrame(image: GreyImage): { message: string; remedy: string } | null {
  const { blackFraction, saturatedFraction } = regionStatistics({ image });
  if (blackFraction > mostOfFrame)
    return {
      message: 'Nothing was found: the frame is black.',
      remedy: 'Use more light or exposure, take off the lens cap, and set a black level above zero.',
    };
  if (saturatedFraction > mostOfFrame)
    return {
      message: 'Nothing was found: every pixel is at the largest grey value.',
      remedy: 'Use less light, exposure or gain.',
    };
  return null;
}
