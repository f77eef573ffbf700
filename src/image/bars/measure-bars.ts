import { degFromRad, requirePositive } from '../../base/index.js';
import { rayleighSeparation, threeBarLinePairsPerMm, twoPointDip } from '../../optics/index.js';
import {
  type GreyImage,
  type Region,
  regionInWords,
  requireGreyImage,
  requireRegion,
  wholeFrame,
} from '../grey-image.js';
import { regionStatistics } from '../region-statistics.js';
import { barContrast } from './bar-contrast.js';
import type { BarsReading, BarsRefusal, ReadElement } from './bar-reading.js';
import { belongsTo } from './belongs-to.js';
import { barsRun, elementPlaces } from './element-places.js';
import { type FoundTriplet, findTriplets } from './find-triplets.js';
import { followArrangement } from './follow-arrangement.js';
import { fourthBarReach, hasFourthBar, withoutGratings } from './fourth-bar.js';
import { hasShape, isCertain, type KnownTarget, knownTarget, seriesPlace, tiltOf } from './known-target.js';
import { lastResolved } from './last-resolved.js';
import { neighbourLight } from './neighbour-light.js';
import { pixelNoise } from './pixel-noise.js';
import { barsInside } from './triplet-patch.js';
import { withoutNeighbours } from './without-neighbours.js';

/** Contrast of a dip of 26.5 %, as between two points at Rayleigh's distance: (1 − 0.735) / (1 + 0.735). */
export const rayleighModulation = twoPointDip({ pupil: 'circle', separation: rayleighSeparation.circle }).contrast;

/**
 * Finds the elements of a three-bar target of the MIL-STD-150A series anywhere in a frame and tells the last resolved one.
 *
 * Model    five even turning points along rows and columns of block means say where three bars may be; three blurred bars are
 *          fitted there, five times as long as wide; those that nothing else explains settle polarity, turn, blur, contrast
 *          and scale of the target, and with these the faint ones are searched a second time. Size tells group and element.
 *          Contrast: extremes of the fitted profile (points, not means over part of a bar) and what it leaves.
 * Input    linear grey values, 8 … 16 bit; umPerPx on the object (½ % … 5 % off is noticed and reported as sizeRatio); bars within
 *          about 15° of rows or columns, the target turned by any quarter; dark or bright bars
 * Returns  elements found with contrast and standard deviation, and the finest whose contrast, and that of all coarser ones
 *          found, is at least `modulation` (by default Rayleigh's dip of 26.5 %, 0.153); or a refusal
 * Throws   RangeError for a region outside the frame, umPerPx ≤ 0, modulation outside 0.02 … 0.95.
 * Trust    contrast is that of three square bars, not of a sine wave; below one pixel a bar is not sampled any more. Several
 *          targets in one frame are read as one.
 * Source   MIL-STD-150A 5.1.1.7 for the geometry; the search is our own, docs/image/bars.md
 * Checked  reference: targets drawn by numpy (references/bars), and frames without bars
 */
export function measureBars({
  image,
  umPerPx,
  region = wholeFrame(image),
  modulation,
}: {
  image: GreyImage;
  umPerPx: number;
  region?: Region;
  modulation?: number;
}): BarsReading {
  requireGreyImage('image', image);
  requireRegion('region', region, image);
  requirePositive('umPerPx', umPerPx, 'µm');
  if (modulation !== undefined && !(modulation >= 0.02 && modulation <= 0.95)) {
    throw new RangeError(`modulation is ${modulation}; allowed: 0.02 … 0.95`);
  }
  if (Math.min(region.widthPx, region.heightPx) < 16) {
    return refuse('region-too-small', `The region is ${regionInWords(region)}; needed: 16 × 16 px.`);
  }
  const noise = pixelNoise(image, region);
  const isTriplet = (triplet: FoundTriplet) => !(isCertain(triplet) && hasFourthBar(image, region, triplet));
  const certain = findTriplets(image, region, noise).filter((triplet) => isCertain(triplet) && isTriplet(triplet));
  const target = knownTarget(certain, umPerPx);
  if (!target) return noBars(image, region);
  const fitting = findTriplets(image, region, noise, target, target.members).filter((triplet) =>
    belongsTo(target, triplet),
  );
  const seen = fitting.filter(
    (triplet) =>
      !(isCertain(triplet) && hasFourthBar(image, region, triplet, neighbourLight(triplet, fitting, fourthBarReach))),
  );
  const found = followArrangement({ image, region, noise, target, umPerPx, seen });
  // Sizes are right only without the neighbours' light. A pattern that the rim cuts off is none to judge by.
  const all = withoutGratings(withoutNeighbours({ image, region, noise, target, triplets: found })).filter(
    ({ place }) => barsInside(place, region),
  );
  const criterion =
    modulation === undefined
      ? ({ name: 'rayleigh-dip', modulation: rayleighModulation } as const)
      : ({ name: 'modulation', modulation } as const);
  if (differentKinds(all.filter(hasShape), umPerPx, target) < 2) return oneKindOnly();
  const elements = readElements(all, target, umPerPx, criterion.modulation);
  const last = lastResolved(elements);
  return {
    kind: 'measured',
    criterion,
    lastResolved: { ...(last.joint ?? { group: null, element: null, lpPerMm: null }), ...last },
    elements,
    barsAre: target.bright ? 'brighter' : 'darker',
    tiltDeg: degFromRad(target.tiltRad),
    sizeRatio: 2 ** (-target.offSeries / 6),
    sizeRatioStd: (Math.LN2 / 6) * target.offSeriesStd,
    umPerPx,
    region,
  };
}

function readElements(
  all: readonly FoundTriplet[],
  target: KnownTarget,
  umPerPx: number,
  least: number,
): ReadElement[] {
  const places = elementPlaces(all, (triplet) => seriesPlace(triplet.place.barWidthPx, umPerPx) - target.offSeries);
  return all
    .map((triplet, i): ReadElement => {
      const index = places[i]!;
      const group = Math.floor(index / 6);
      const element = index - 6 * group + 1;
      const lpPerMm = threeBarLinePairsPerMm({ group, element });
      const read = barContrast(triplet, triplet.patch, target.stepAt(triplet.place.xPx, triplet.place.yPx));
      return {
        group,
        element,
        lpPerMm,
        barsRun: barsRun(triplet),
        xPx: triplet.place.xPx,
        yPx: triplet.place.yPx,
        barWidthPx: triplet.place.barWidthPx,
        nominalBarWidthPx: 500 / lpPerMm / umPerPx,
        tiltDeg: degFromRad(tiltOf(triplet)),
        ...read,
        explained: triplet.explained,
        resolved: read.contrast >= least,
      };
    })
    .sort((a, b) => a.lpPerMm - b.lpPerMm || (a.barsRun < b.barsRun ? -1 : 1));
}

/** Sizes and directions that differ. */
const differentKinds = (triplets: readonly FoundTriplet[], umPerPx: number, { offSeries }: KnownTarget): number =>
  new Set(triplets.map((t) => `${barsRun(t)} ${Math.round(seriesPlace(t.place.barWidthPx, umPerPx) - offSeries)}`))
    .size;

const oneKindOnly = (): BarsReading =>
  refuse(
    'no-bars',
    'Patterns of three bars were found in one size and one direction only: a mark or a letter, no resolution target.',
  );

function noBars(image: GreyImage, region: Region): BarsReading {
  const { saturatedFraction, blackFraction, maxDn } = regionStatistics({ image, region });
  if (blackFraction > 0.999) {
    return refuse(
      'black',
      maxDn === 0 ? 'Every pixel is zero.' : `${(100 * blackFraction).toFixed(2)} % of the pixels are zero.`,
    );
  }
  if (saturatedFraction > 0.2) {
    return refuse(
      'clipped',
      `No three-bar pattern; ${(100 * saturatedFraction).toFixed(0)} % of the pixels are at the largest grey value.`,
    );
  }
  return refuse('no-bars', 'No pattern of three bars, five times as long as wide, was found.');
}

const remedies: Record<BarsRefusal, string> = {
  'region-too-small': 'Choose a larger region.',
  black: 'Use more light or exposure, take off the lens cap, and set a black level above zero.',
  clipped: 'Lower exposure or light until the bright parts lie inside the grey range.',
  'no-bars':
    'Show a three-bar target of the MIL-STD-150A series, turned by no more than about 15° against the rows, with an element that is well resolved; check focus and µm per pixel.',
};

const refuse = (reason: BarsRefusal, message: string): BarsReading => ({
  kind: 'refused',
  reason,
  message,
  remedy: remedies[reason],
  lastResolved: null,
  elements: [],
});
