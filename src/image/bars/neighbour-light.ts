import type { FoundTriplet } from './find-triplets.js';
import { normalIntegral } from './normal-table.js';
import { acrossShare, halfLength } from './triplet-model.js';
import type { TripletPlace } from './triplet-patch.js';

/** Grey value that neighbours add at a place of the frame, averaged over blockPx × blockPx pixels. */
export type NeighbourLight = (xPx: number, yPx: number, blockPx: number) => number;

/** Beyond so many standard deviations of the blur a bar adds nothing. */
const blurReach = 3.5;
/** Sizes in a natural logarithm: what differs by less is the same element, or part of one grating. Elements differ by 0.116. */
export const otherSize = 0.05;

/**
 * What the other patterns of a target add to the surroundings of one: their bars, blurred.
 *
 * Model    step · across · along of each fitted triplet, as in tripletAt, without its ground
 * Input    `others` may hold the triplet itself. Patterns of the same size and direction in line with it are left out: they may
 *          be other parts of one grating.
 * Returns  null where no other reaches within `reach` bar widths of its middle.
 * Trust    the tails of the blur are those of a Gaussian.
 */
export function neighbourLight(
  triplet: { place: TripletPlace },
  others: readonly FoundTriplet[],
  reach: number,
): NeighbourLight | null {
  const near = others.filter(
    (other) => other !== triplet && !isGratingWith(triplet, other) && reaches(other, triplet, reach),
  );
  if (near.length === 0) return null;
  return (xPx, yPx, blockPx) => near.reduce((sum, other) => sum + lightOf(other, xPx, yPx, blockPx), 0);
}

function isGratingWith({ place }: { place: TripletPlace }, { place: other }: FoundTriplet): boolean {
  const parallel = Math.abs(Math.sin(place.acrossRad - other.acrossRad)) < 0.3;
  return parallel && Math.abs(Math.log(place.barWidthPx / other.barWidthPx)) < otherSize;
}

function reaches({ place: from, model }: FoundTriplet, { place: to }: { place: TripletPlace }, reach: number): boolean {
  const size = Math.SQRT2 * (reach * to.barWidthPx + halfLength * from.barWidthPx) + blurReach * model.blurPx;
  return Math.hypot(from.xPx - to.xPx, from.yPx - to.yPx) < size;
}

function lightOf({ place, model, patch }: FoundTriplet, xPx: number, yPx: number, blockPx: number): number {
  const [cos, sin] = [Math.cos(place.acrossRad), Math.sin(place.acrossRad)];
  const [dx, dy] = [xPx - place.xPx, yPx - place.yPx];
  const across = dx * cos + dy * sin;
  const along = dy * cos - dx * sin;
  // Its own blur holds the averaging of its own samples.
  const blurPx = Math.sqrt(Math.max(0.06, model.blurPx ** 2 + (blockPx ** 2 - patch.blockPx ** 2) / 12));
  const half = halfLength * model.lengthRatio * model.barWidthPx;
  const beyond = blurReach * blurPx;
  if (Math.abs(across) > halfLength * model.barWidthPx + beyond || Math.abs(along) > half + beyond) return 0;
  const share = normalIntegral((along + half) / blurPx) - normalIntegral((along - half) / blurPx);
  return model.stepDn * share * acrossShare({ ...model, blurPx }, across);
}
