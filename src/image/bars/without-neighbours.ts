import type { GreyImage, Region } from '../grey-image.js';
import { type FoundTriplet, fitAt } from './find-triplets.js';
import type { KnownTarget } from './known-target.js';
import { type NeighbourLight, neighbourLight } from './neighbour-light.js';
import type { PixelNoise } from './pixel-noise.js';
import { patchReach } from './triplet-patch.js';

/** Each round takes off what the last one left of the neighbours' own errors. */
const rounds = 2;

/**
 * The triplets of a target fitted again, each without the light that the others spill into its surroundings.
 *
 * Returns  one for each given, in their order: the new fit, or the old one where no neighbour's light is seen or the new fit fails or
 *          has moved by more than half a bar
 */
export function withoutNeighbours({
  image,
  region,
  noise,
  target,
  triplets,
}: {
  image: GreyImage;
  region: Region;
  noise: PixelNoise;
  target: KnownTarget;
  triplets: readonly FoundTriplet[];
}): FoundTriplet[] {
  let now = [...triplets];
  for (let round = 0; round < rounds; round++) {
    now = now.map((triplet) => {
      const neighbours = neighbourLight(triplet, now, patchReach);
      if (!neighbours || !isSeen(neighbours, triplet)) return triplet;
      const { place, model } = triplet;
      const again = fitAt(image, region, noise, { ...place, stepDn: model.stepDn }, target, neighbours);
      return again && isSamePlace(again, triplet) ? again : triplet;
    });
  }
  return now;
}

/** Light below this share of the bars' own step changes nothing. */
const leastShare = 0.001;
/** Places across and along at which it is looked for. */
const looks = 13;

function isSeen(neighbours: NeighbourLight, { place, model, patch }: FoundTriplet): boolean {
  const [cos, sin] = [Math.cos(place.acrossRad), Math.sin(place.acrossRad)];
  const at = (k: number) => ((2 * k) / (looks - 1) - 1) * patchReach * place.barWidthPx;
  for (let i = 0; i < looks; i++) {
    for (let j = 0; j < looks; j++) {
      const [u, v] = [at(i), at(j)];
      const light = neighbours(place.xPx + u * cos - v * sin, place.yPx + u * sin + v * cos, patch.blockPx);
      if (Math.abs(light) > leastShare * Math.abs(model.stepDn)) return true;
    }
  }
  return false;
}

const isSamePlace = ({ place: a }: FoundTriplet, { place: b }: FoundTriplet): boolean =>
  Math.hypot(a.xPx - b.xPx, a.yPx - b.yPx) < 0.5 * b.barWidthPx && Math.abs(a.barWidthPx / b.barWidthPx - 1) < 0.1;
