import { requireInteger } from '../../base/index.js';
import { type GreyImage, type Region, requireGreyImage, requireRegion, wholeFrame } from '../grey-image.js';
import type { EdgeMeasured } from './edge-response.js';
import { type EdgeRun, edgeRuns } from './edge-runs.js';
import { binPx, gradientMap } from './gradient-map.js';
import { measureEdge } from './measure-edge.js';

/** A region of a frame that holds one usable slanted edge. */
export interface FoundEdge {
  region: Region;
  orientation: EdgeMeasured['orientation'];
  /** Signed tilt against the pixel columns (near-vertical) or rows (near-horizontal). */
  edgeAngleDeg: number;
  /** Contrast over noise times the square root of the edge's length: greater is better. */
  quality: number;
}

/** Longest piece of an edge that becomes one region; longer edges are cut into equal pieces. */
const longestPiecePx = 180;

/**
 * Finds slanted edges in a frame, near-vertical and near-horizontal, the best first.
 *
 * Model    structure tensor of the frame binned 4 × 4; connected bins of one direction (within 20° of the grid) and polarity
 *          that follow a straight line; a region as wide as both sides stay plain; each is tried with measureEdge and kept
 *          only if that accepts it
 * Input    linear grey values; region limits the search; mostEdges 1 … 1000, 32 by default
 * Returns  regions that measureEdge accepts; empty where there is none
 * Throws   RangeError for a region outside the frame or a bad mostEdges.
 * Trust    edges shorter than about 40 px, or closer than about 16 px to another one, are left out.
 * Cost     some 10 ms per megapixel, and a measureEdge per candidate
 * Checked  recovery: every edge of a synthetic target is found, in place and angle
 */
export function findEdges({
  image,
  region = wholeFrame(image),
  mostEdges = 32,
}: {
  image: GreyImage;
  region?: Region;
  mostEdges?: number;
}): FoundEdge[] {
  requireGreyImage('image', image);
  requireRegion('region', region, image);
  requireInteger('mostEdges', mostEdges, { min: 1, max: 1000 });
  if (Math.min(region.widthPx, region.heightPx) < 8 * binPx) return [];
  const found: FoundEdge[] = [];
  for (const run of edgeRuns(gradientMap(image, region))) {
    if (found.length >= mostEdges) break;
    for (const piece of piecesOf(run)) {
      const edge = usable(image, region, piece);
      if (edge) found.push(edge);
    }
  }
  return found.sort((a, b) => b.quality - a.quality).slice(0, mostEdges);
}

function piecesOf(run: EdgeRun): EdgeRun[] {
  const length = run.last - run.first + 1;
  const count = Math.ceil((length * binPx) / longestPiecePx);
  return Array.from({ length: count }, (_, k) => ({
    ...run,
    first: run.first + Math.floor((k * length) / count),
    last: run.first + Math.floor(((k + 1) * length) / count) - 1,
  }));
}

/** Tries the widest plain region first, then narrower ones. */
function usable(image: GreyImage, within: Region, run: EdgeRun): FoundEdge | null {
  for (const share of [1, 0.6]) {
    const region = regionAround(run, share * run.margin, within);
    if (!region) return null;
    const response = measureEdge({ image, region });
    if (response.kind === 'refused') continue;
    const { orientation, edgeAngleDeg, brightDn, darkDn, darkNoiseStdDn, brightNoiseStdDn } = response;
    const noise = Math.hypot(darkNoiseStdDn, brightNoiseStdDn, 0.5);
    const lengthPx = (run.last - run.first + 1) * binPx;
    return { region, orientation, edgeAngleDeg, quality: ((brightDn - darkDn) / noise) * Math.sqrt(lengthPx) };
  }
  return null;
}

/** The pixels around a run, `margin` bins beyond the edge's own width; null if the frame cuts it. */
function regionAround(run: EdgeRun, margin: number, within: Region): Region | null {
  const ends = [run.first, run.last].map((row) => run.intercept + run.slope * row);
  const reach = run.halfWidth + margin;
  const across = Math.max(0, Math.round((Math.min(...ends) - reach + 0.5) * binPx));
  const acrossEnd = Math.round((Math.max(...ends) + reach + 0.5) * binPx);
  const along = run.first * binPx;
  const alongPx = (run.last - run.first + 1) * binPx;
  const limit = run.nearVertical ? within.widthPx : within.heightPx;
  const acrossPx = Math.min(limit, acrossEnd) - across;
  if (acrossPx < 16 || alongPx < 24) return null;
  return run.nearVertical
    ? { xPx: within.xPx + across, yPx: within.yPx + along, widthPx: acrossPx, heightPx: alongPx }
    : { xPx: within.xPx + along, yPx: within.yPx + across, widthPx: alongPx, heightPx: acrossPx };
}
