import type { GreyImage, Region } from '../grey-image.js';
import { barLevels } from './bar-levels.js';
import { type FittedTriplet, fitTriplet } from './fit-triplet.js';
import { joinHits } from './join-hits.js';
import { betweenTilts, type KnownTarget } from './known-target.js';
import type { NeighbourLight } from './neighbour-light.js';
import type { PixelNoise } from './pixel-noise.js';
import { averagedRows, type ScanSettings, scanTriplets } from './scan-triplets.js';
import { type TripletPatch, type TripletPlace, tripletPatch } from './triplet-patch.js';

/** A place that may hold three bars, from the scan. */
export interface Candidate extends TripletPlace {
  stepDn: number;
}

/** Three bars found, fitted, with the samples they were fitted to. */
export interface FoundTriplet extends FittedTriplet {
  place: TripletPlace;
  patch: TripletPatch;
}

/** Beyond so many candidates a frame is texture: only the strongest are tried. */
const mostCandidates = 1500;

/**
 * All places where three blurred bars explain most of the patch, each once. With a known target the scan listens closer: the rows
 * are averaged along the bars, the threshold is lower, and what cannot belong to that target is left out before the fit.
 */
export function findTriplets(
  image: GreyImage,
  region: Region,
  noise: PixelNoise,
  target?: KnownTarget,
  already: readonly FoundTriplet[] = [],
): FoundTriplet[] {
  const candidates = (['vertical', 'horizontal'] as const)
    .flatMap((barsRun) => candidatesOf(image, region, noise, barsRun, target))
    .filter((candidate) => !target || plausible(candidate, target));
  candidates.sort((a, b) => Math.abs(b.stepDn) - Math.abs(a.stepDn));
  const found: FoundTriplet[] = [...already];
  for (const candidate of candidates.slice(0, mostCandidates)) {
    if (already.some((other) => isSame(other.place, candidate))) continue;
    const triplet = fitAt(image, region, noise, candidate, target);
    if (triplet) addOnce(found, triplet);
  }
  return found;
}

const isSame = (a: TripletPlace, b: TripletPlace): boolean =>
  Math.hypot(a.xPx - b.xPx, a.yPx - b.yPx) < 1.2 * a.barWidthPx &&
  Math.abs(Math.log(a.barWidthPx / b.barWidthPx)) < 0.3;

/** Polarity, and no more contrast than the target has. */
function plausible({ stepDn, xPx, yPx }: Candidate, target: KnownTarget): boolean {
  const share = stepDn / target.stepAt(xPx, yPx).stepDn;
  return share > 0.03 && share < 1.6;
}

function candidatesOf(
  image: GreyImage,
  region: Region,
  noise: PixelNoise,
  barsRun: 'vertical' | 'horizontal',
  target: KnownTarget | undefined,
): Candidate[] {
  return barLevels(image, region, barsRun).flatMap((level, k) => {
    const scans: ScanSettings[] = target
      ? [
          { least: k === 0 ? 0.8 : 1.5, most: 2.4, averaged: 2, threshold: 3 },
          { least: 2, most: 4.5, averaged: 3, threshold: 3 },
        ]
      : [{ least: k === 0 ? 0.8 : 1.8, most: 4.5, averaged: 1, threshold: 4.5 }];
    const tracks = scans.flatMap((scan) => joinHits(scanTriplets(averagedRows(level, scan.averaged), noise, scan)));
    return tracks.map((track): Candidate => {
      const across = (track.centre + 0.5) * level.blockPx - 0.5;
      const along = (track.row + 0.5) * 2 * level.blockPx - 0.5;
      const tilt = Math.atan(track.slope / 2);
      const upright = barsRun === 'vertical';
      return {
        xPx: region.xPx + (upright ? across : along),
        yPx: region.yPx + (upright ? along : across),
        barWidthPx: track.barWidth * level.blockPx * Math.cos(tilt),
        // Down the rows the bars move to higher columns: the direction across them turns the other way.
        acrossRad: turned(upright ? -tilt : Math.PI / 2 + tilt, upright, target),
        stepDn: track.depthDn,
      };
    });
  });
}

/** A known target's turn is better than that of a few rows. */
function turned(acrossRad: number, upright: boolean, target: KnownTarget | undefined): number {
  return target && betweenTilts(acrossRad, target.tiltRad) < 0.35
    ? target.tiltRad + (upright ? 0 : Math.PI / 2)
    : acrossRad;
}

/** Fits at a candidate, moves there, and fits again on samples about the place found. */
export function fitAt(
  image: GreyImage,
  region: Region,
  noise: PixelNoise,
  candidate: Candidate,
  target?: KnownTarget,
  neighbours: NeighbourLight | null = null,
): FoundTriplet | null {
  let place: TripletPlace = candidate;
  let fit: FittedTriplet | null = null;
  let patch: TripletPatch | null = null;
  for (let round = 0; round < 2; round++) {
    // First coarsely, to find the place; then finely.
    patch = tripletPatch(image, region, place, noise, round === 0 ? 1.8 : 3, neighbours);
    if (!patch) return null;
    const w = place.barWidthPx;
    // Where blur and size are hard to tell apart, the blur of the clear elements helps.
    const blurPx = target && Math.hypot(target.blurPx, Math.sqrt((patch.blockPx ** 2 - 1) / 12));
    const expected = blurPx && blurPx > 0.3 * w ? { blurPx, stdPx: 0.1 * blurPx } : undefined;
    fit = fitTriplet(
      patch,
      fit
        ? { ...fit.model, u0: 0, v0: 0, turnRad: 0 }
        : {
            groundDn: groundOf(patch, candidate.stepDn, w),
            acrossDn: 0,
            alongDn: 0,
            stepDn: target ? target.stepAt(place.xPx, place.yPx).stepDn : 1.2 * candidate.stepDn,
            u0: 0,
            v0: 0,
            turnRad: 0,
            barWidthPx: w,
            lengthRatio: 1,
            blurPx: expected ? Math.min(0.8 * w, expected.blurPx) : 0.35 * w,
          },
      expected,
    );
    if (!fit || fit.explained < (round === 0 ? 0.5 : 0.75)) return null;
    const { u0, v0, turnRad } = fit.model;
    const cos = Math.cos(place.acrossRad);
    const sin = Math.sin(place.acrossRad);
    place = {
      xPx: place.xPx + u0 * cos - v0 * sin,
      yPx: place.yPx + u0 * sin + v0 * cos,
      barWidthPx: fit.model.barWidthPx,
      acrossRad: place.acrossRad + turnRad,
    };
  }
  return { ...fit!, place, patch: patch! };
}

/** Grey value of the patch's rim. */
function groundOf({ count, u, v, grey }: TripletPatch, stepDn: number, barWidthPx: number): number {
  const rim: number[] = [];
  for (let i = 0; i < count; i++) {
    if (Math.max(Math.abs(u[i]!), Math.abs(v[i]!)) > 2.8 * barWidthPx) rim.push(grey[i]!);
  }
  rim.sort((a, b) => a - b);
  return rim[Math.floor(rim.length * (stepDn > 0 ? 0.3 : 0.7))] ?? grey[0]!;
}

/** Of two at one place the one that explains more stays. */
export function addOnce(found: FoundTriplet[], triplet: FoundTriplet): void {
  for (let i = 0; i < found.length; i++) {
    const other = found[i]!;
    const distance = Math.hypot(other.place.xPx - triplet.place.xPx, other.place.yPx - triplet.place.yPx);
    if (distance > 2.5 * Math.max(other.place.barWidthPx, triplet.place.barWidthPx)) continue;
    if (other.explained >= triplet.explained) return;
    found.splice(i--, 1);
  }
  found.push(triplet);
}
