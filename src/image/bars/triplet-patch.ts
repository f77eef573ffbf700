import type { GreyImage, Region } from '../grey-image.js';
import type { NeighbourLight } from './neighbour-light.js';
import type { PixelNoise } from './pixel-noise.js';

/** Where three bars are, in pixels of the frame: their middle, width of a bar, and the direction across them. */
export interface TripletPlace {
  xPx: number;
  yPx: number;
  barWidthPx: number;
  /** Direction across the bars against the pixel rows: 0 where the bars run down the rows. */
  acrossRad: number;
}

/** The pixels about three bars as samples in the bars' own axes, from the middle of the place, in pixels. */
export interface TripletPatch {
  count: number;
  /** Across and along the bars. */
  u: Float64Array;
  v: Float64Array;
  grey: Float64Array;
  /** Variance of one sample. */
  varianceDn2: Float64Array;
  /** A sample is the mean of blockPx × blockPx pixels. */
  blockPx: number;
}

/** Samples reach this many bar widths from the middle, across and along: bars end at 2.5, a near neighbour begins at 3.5. */
export const patchReach = 3;

/** Ground that must be seen about the bars, in bar widths. */
const groundBeside = 0.5;

/** True where three whole bars and half a bar's width of ground about them lie inside the region. */
export function barsInside({ xPx, yPx, barWidthPx, acrossRad }: TripletPlace, region: Region): boolean {
  const turned = Math.abs(Math.cos(acrossRad)) + Math.abs(Math.sin(acrossRad));
  const reachPx = (2.5 * turned + groundBeside) * barWidthPx;
  return (
    xPx - reachPx >= region.xPx &&
    yPx - reachPx >= region.yPx &&
    xPx + reachPx <= region.xPx + region.widthPx - 1 &&
    yPx + reachPx <= region.yPx + region.heightPx - 1
  );
}

/** Block size at which a bar is at least so many samples wide, and less than twice as many. */
const blockFor = (barWidthPx: number, samplesPerBar: number): number =>
  Math.max(1, Math.floor(barWidthPx / samplesPerBar));

/** Gathers the samples, without what neighbours add; null where less than nine tenths of them lie inside the region. */
export function tripletPatch(
  image: GreyImage,
  region: Region,
  place: TripletPlace,
  noise: PixelNoise,
  samplesPerBar: number,
  neighbours: NeighbourLight | null = null,
): TripletPatch | null {
  const { data, widthPx } = image;
  const blockPx = blockFor(place.barWidthPx, samplesPerBar);
  const cos = Math.cos(place.acrossRad);
  const sin = Math.sin(place.acrossRad);
  const reachPx = patchReach * place.barWidthPx;
  const half = Math.ceil((reachPx * (Math.abs(cos) + Math.abs(sin))) / blockPx);
  const x0 = Math.round(place.xPx - (blockPx - 1) / 2);
  const y0 = Math.round(place.yPx - (blockPx - 1) / 2);
  const most = (2 * half + 1) ** 2;
  const u = new Float64Array(most);
  const v = new Float64Array(most);
  const grey = new Float64Array(most);
  const varianceDn2 = new Float64Array(most);
  let count = 0;
  let outside = 0;
  const right = region.xPx + region.widthPx - blockPx;
  const low = region.yPx + region.heightPx - blockPx;
  for (let j = -half; j <= half; j++) {
    for (let i = -half; i <= half; i++) {
      const x = x0 + i * blockPx;
      const y = y0 + j * blockPx;
      const dx = x + (blockPx - 1) / 2 - place.xPx;
      const dy = y + (blockPx - 1) / 2 - place.yPx;
      const across = dx * cos + dy * sin;
      const along = -dx * sin + dy * cos;
      if (Math.abs(across) > reachPx || Math.abs(along) > reachPx) continue;
      if (x < region.xPx || y < region.yPx || x > right || y > low) {
        outside++;
        continue;
      }
      let sum = 0;
      for (let b = 0; b < blockPx; b++) {
        const from = (y + b) * widthPx + x;
        for (let a = 0; a < blockPx; a++) sum += data[from + a]!;
      }
      const mean = sum / blockPx ** 2;
      u[count] = across;
      v[count] = along;
      grey[count] = neighbours ? mean - neighbours(dx + place.xPx, dy + place.yPx, blockPx) : mean;
      varianceDn2[count] = (noise(mean) / blockPx) ** 2;
      count++;
    }
  }
  if (count < 9 * outside || count < 24) return null;
  return { count, u, v, grey, varianceDn2, blockPx };
}
