import type { GreyImage, Region } from '../grey-image.js';
import type { FoundTriplet } from './find-triplets.js';
import { type NeighbourLight, otherSize } from './neighbour-light.js';
import { acrossShare } from './triplet-model.js';

/** How far from the middle the fourth bar is looked for, in bar widths. */
export const fourthBarReach = 5.1;

/**
 * True where the bars go on: a fourth one of the same width stands one period beyond an outer bar, as in a grating.
 *
 * Model    profile over the middle three fifths of the length, 2.9 to 5.1 bar widths from the middle: area and centre of what
 *          stands there as much darker or brighter as the bars. A neighbouring element of the next size is 11 % smaller and stands
 *          off; where it is known, what it adds is taken off first (`neighbours`).
 */
export function hasFourthBar(
  image: GreyImage,
  region: Region,
  triplet: FoundTriplet,
  neighbours: NeighbourLight | null = null,
): boolean {
  return [-1, 1].some((side) => goesOn(image, region, triplet, side, neighbours));
}

/** Leaves out triplets of one size that share bars or stand one period apart: parts of one grating. */
export function withoutGratings(triplets: readonly FoundTriplet[]): FoundTriplet[] {
  return triplets.filter(({ place }, i) =>
    triplets.every(({ place: other }, j) => {
      if (i === j || Math.abs(Math.log(place.barWidthPx / other.barWidthPx)) > otherSize) return true;
      if (Math.abs(Math.sin(place.acrossRad - other.acrossRad)) > 0.3) return true;
      const dx = other.xPx - place.xPx;
      const dy = other.yPx - place.yPx;
      const across = dx * Math.cos(place.acrossRad) + dy * Math.sin(place.acrossRad);
      const along = dy * Math.cos(place.acrossRad) - dx * Math.sin(place.acrossRad);
      return Math.abs(across) > 6.3 * place.barWidthPx || Math.abs(along) > 1.5 * place.barWidthPx;
    }),
  );
}

function goesOn(
  image: GreyImage,
  region: Region,
  { place, model }: FoundTriplet,
  side: number,
  neighbours: NeighbourLight | null,
): boolean {
  const w = place.barWidthPx;
  const space = acrossShare(model, w);
  const own = barOf((u) => acrossShare(model, model.u0 + u), space, w, 0);
  const profile = (u: number) => {
    let sum = 0;
    let count = 0;
    for (let v = -1.5; v <= 1.5; v += 0.1) {
      const x = Math.round(place.xPx + (u * Math.cos(place.acrossRad) - v * w * Math.sin(place.acrossRad)));
      const y = Math.round(place.yPx + (u * Math.sin(place.acrossRad) + v * w * Math.cos(place.acrossRad)));
      if (x < region.xPx || y < region.yPx || x >= region.xPx + region.widthPx || y >= region.yPx + region.heightPx)
        continue;
      sum += image.data[y * image.widthPx + x]! - (neighbours?.(x, y, 1) ?? 0);
      count++;
    }
    if (count === 0) return 0;
    const ground = model.groundDn + (model.acrossDn * u) / w;
    return (sum / count - ground) / model.stepDn;
  };
  const next = barOf(profile, space, w, side * 4 * w);
  if (!own || !next) return false;
  return (
    Math.abs(next.area / own.area - 1) < 0.09 &&
    Math.abs(next.centre) < 0.12 * w &&
    next.edges < space + 0.3 * (1 - space)
  );
}

/** Area above the spaces' level and centre of a bar expected about a place; null where there is next to nothing. */
function barOf(profile: (u: number) => number, space: number, w: number, about: number) {
  let area = 0;
  let moment = 0;
  const points = 21;
  for (let i = 0; i < points; i++) {
    const d = ((i / (points - 1)) * 2 - 1) * w;
    const value = Math.max(0, profile(about + d) - space);
    area += value;
    moment += value * d;
  }
  if (area < 0.15 * points * 0.5) return null;
  return { area, centre: moment / area, edges: Math.max(profile(about - w), profile(about + w)) };
}
