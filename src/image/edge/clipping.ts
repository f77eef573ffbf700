import type { GreyImage, Region } from '../grey-image.js';
import { maxGreyValueDn } from '../grey-image.js';

/** How the pixels at one end of the grey range lie. */
export interface Clipping {
  end: 'dark' | 'bright';
  /** Share of the region's pixels there. */
  share: number;
  /** Share of those whose neighbour to the right is there too: near `share` of their side where noise alone put them there. */
  neighbours: number;
}

/** Pixels at zero and at the largest grey value, the end with more of them. */
export function clippingOf(image: GreyImage, { xPx, yPx, widthPx, heightPx }: Region): Clipping {
  const full = maxGreyValueDn(image);
  const counts = [0, 0];
  const pairs = [0, 0];
  for (let y = yPx; y < yPx + heightPx; y++) {
    let before = -1;
    for (let x = xPx; x < xPx + widthPx; x++) {
      const value = image.data[y * image.widthPx + x]!;
      const end = value === 0 ? 0 : value >= full ? 1 : -1;
      if (end >= 0) {
        counts[end]!++;
        if (before === end) pairs[end]!++;
      }
      before = end;
    }
  }
  const most = counts[0]! >= counts[1]! ? 0 : 1;
  return {
    end: most === 0 ? 'dark' : 'bright',
    share: counts[most]! / (widthPx * heightPx),
    neighbours: counts[most]! === 0 ? 0 : pairs[most]! / counts[most]!,
  };
}

/**
 * True where the pixels at an end of the range can only be the tail of the noise: less than a quarter of a side, and strewn about.
 * The side's mean is then off by less than 0.15 standard deviations of the noise.
 */
export const isNoiseTail = ({ share, neighbours }: Clipping): boolean =>
  share < 0.125 && neighbours < Math.max(0.1, 4.5 * share);
