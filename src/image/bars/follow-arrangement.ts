import type { GreyImage, Region } from '../grey-image.js';
import { barContrast } from './bar-contrast.js';
import { belongsTo } from './belongs-to.js';
import { barsRun, elementPlaces } from './element-places.js';
import { type Candidate, type FoundTriplet, fitAt } from './find-triplets.js';
import { type KnownTarget, seriesPlace } from './known-target.js';
import { neighbourLight } from './neighbour-light.js';
import type { PixelNoise } from './pixel-noise.js';
import { patchReach } from './triplet-patch.js';

/** Width of the next element over that of this one. */
const nextSize = 2 ** (-1 / 6);
/** So many rounds at most: each goes one element further. */
const mostRounds = 12;

interface Placed {
  triplet: FoundTriplet;
  index: number;
  kind: 'horizontal' | 'vertical';
}

/**
 * Goes on where the scan stopped: an element's place follows from its neighbours'.
 *
 * Model    (1) in a row of one group the steps between elements shrink as their sizes do: next = this + (this − last)·2^(−1/6);
 *          (2) the two patterns of an element lie to each other as those of the next size do, scaled.
 * Returns  what was given and what was found at such places and fits the target, with a contrast beyond three standard deviations
 */
export function followArrangement({
  image,
  region,
  noise,
  target,
  umPerPx,
  seen,
}: {
  image: GreyImage;
  region: Region;
  noise: PixelNoise;
  target: KnownTarget;
  umPerPx: number;
  seen: readonly FoundTriplet[];
}): FoundTriplet[] {
  const all = [...seen];
  const tried = new Set<string>();
  for (let round = 0; round < mostRounds; round++) {
    const places = elementPlaces(all, ({ place }) => seriesPlace(place.barWidthPx, umPerPx) - target.offSeries);
    const placed = all.map((triplet, i): Placed => ({ triplet, index: places[i]!, kind: barsRun(triplet) }));
    let added = false;
    for (const { candidate, key } of expectedPlaces(placed, target, umPerPx)) {
      if (tried.has(key)) continue;
      tried.add(key);
      const neighbours = neighbourLight({ place: candidate }, all, patchReach);
      const triplet = fitAt(image, region, noise, candidate, target, neighbours);
      if (!triplet || !belongsTo(target, triplet) || !isNew(all, triplet)) continue;
      const { contrast, contrastStd } = barContrast(triplet, triplet.patch);
      const size = triplet.place.barWidthPx / candidate.barWidthPx;
      if (contrast < 3 * contrastStd || size < 0.93 || size > 1.07) continue;
      all.push(triplet);
      added = true;
    }
    if (!added) break;
  }
  return all;
}

const isNew = (all: readonly FoundTriplet[], { place }: FoundTriplet): boolean =>
  all.every(
    (other) =>
      Math.hypot(other.place.xPx - place.xPx, other.place.yPx - place.yPx) >
      2.5 * Math.max(other.place.barWidthPx, place.barWidthPx),
  );

function expectedPlaces(placed: readonly Placed[], target: KnownTarget, umPerPx: number) {
  const out: { candidate: Candidate; key: string }[] = [];
  const find = (index: number, kind: Placed['kind']) => placed.find((p) => p.index === index && p.kind === kind);
  const expect = (index: number, kind: Placed['kind'], xPx: number, yPx: number) => {
    if (find(index, kind)) return;
    const barWidthPx = 500 / (umPerPx * 2 ** ((index + target.offSeries) / 6));
    if (barWidthPx < 0.7) return;
    const acrossRad = target.tiltRad + (kind === 'vertical' ? 0 : Math.PI / 2);
    out.push({
      candidate: { xPx, yPx, barWidthPx, acrossRad, stepDn: target.stepAt(xPx, yPx).stepDn },
      key: `${index} ${kind} ${(xPx / barWidthPx).toFixed(0)} ${(yPx / barWidthPx).toFixed(0)}`,
    });
  };
  for (const { triplet, index, kind } of placed) {
    const { xPx, yPx } = triplet.place;
    const before = find(index - 1, kind);
    if (before) {
      const { place } = before.triplet;
      expect(index + 1, kind, xPx + nextSize * (xPx - place.xPx), yPx + nextSize * (yPx - place.yPx));
    }
    const other = kind === 'vertical' ? 'horizontal' : 'vertical';
    for (const near of [index - 1, index + 1, index - 2]) {
      const [own, theirs] = [find(near, kind), find(near, other)];
      if (!own || !theirs) continue;
      const scale = 2 ** ((near - index) / 6);
      expect(
        index,
        other,
        xPx + scale * (theirs.triplet.place.xPx - own.triplet.place.xPx),
        yPx + scale * (theirs.triplet.place.yPx - own.triplet.place.yPx),
      );
    }
  }
  return out;
}
