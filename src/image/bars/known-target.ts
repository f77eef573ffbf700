import type { FoundTriplet } from './find-triplets.js';

/** What the triplets that are beyond doubt say about the target as a whole. */
export interface KnownTarget {
  bright: boolean;
  /** Turn of the target against the pixel grid, −45° … 45°. */
  tiltRad: number;
  /** Blur that the finest of them show, pixel included. */
  blurPx: number;
  /** Bars minus ground at a place, before blur, and its standard deviation. */
  stepAt(xPx: number, yPx: number): { stepDn: number; stdDn: number };
  /** Measured over nominal size, as sixths of an octave off the series: 0 where µm per pixel is right. */
  offSeries: number;
  offSeriesStd: number;
}

/** Three bars explain nearly all, and they are five times as long as wide. */
export const hasShape = ({ explained, model }: FoundTriplet): boolean =>
  explained >= 0.95 && Math.abs(model.lengthRatio - 1) < 0.06;

/** A triplet that nothing but three bars explains: of that shape, and sharp enough to show it. */
export const isCertain = (triplet: FoundTriplet): boolean =>
  hasShape(triplet) && triplet.model.blurPx < 0.6 * triplet.model.barWidthPx;

/** Place in the series, in sixths of an octave: 0 is group 0 element 1, 6 is group 1 element 1. */
export const seriesPlace = (barWidthPx: number, umPerPx: number): number => 6 * Math.log2(500 / (barWidthPx * umPerPx));

/** Turn of a triplet against the nearest axis of the pixel grid. */
export function tiltOf({ place }: FoundTriplet): number {
  const quarter = Math.PI / 2;
  return place.acrossRad - quarter * Math.round(place.acrossRad / quarter);
}

/** Smallest angle between two directions that count alike after a quarter turn. */
export function betweenTilts(a: number, b: number): number {
  const quarter = Math.PI / 2;
  const off = a - b;
  return Math.abs(off - quarter * Math.round(off / quarter));
}

/** Largest turn between triplets of one target. */
const sameTiltRad = 0.05;
/** Largest distance from the common place in the series, in sixths of an octave. */
const sameSeries = 0.22;

/** The largest set of certain triplets that agree in polarity, turn, contrast and place in the series; null where none is to be trusted. */
export function knownTarget(
  certain: readonly FoundTriplet[],
  umPerPx: number,
): (KnownTarget & { members: FoundTriplet[] }) | null {
  let members: FoundTriplet[] = [];
  for (const seed of certain) {
    const agreeing = certain.filter((other) => agree(seed, other, umPerPx));
    if (agreeing.length > members.length) members = agreeing;
  }
  if (members.length === 0) return null;
  // One alone may be a chance find: it has to fit the shape and the series far better.
  const off = seriesOffset(members, umPerPx);
  if (members.length === 1 && (members[0]!.explained < 0.985 || Math.abs(off.mean) > 0.25)) return null;
  const byWidth = [...members].sort((a, b) => a.place.barWidthPx - b.place.barWidthPx);
  return {
    members,
    bright: members[0]!.model.stepDn > 0,
    tiltRad: median(members.map((m) => tiltOf(m))),
    blurPx: median(byWidth.slice(0, 6).map(({ model, patch }) => sharpBlurPx(model.blurPx, patch.blockPx))),
    stepAt: stepPlane(members),
    offSeries: off.mean,
    offSeriesStd: off.std,
  };
}

/** Blur without what the averaging over blocks added. */
const sharpBlurPx = (blurPx: number, blockPx: number): number =>
  Math.sqrt(Math.max(0.06, blurPx ** 2 - (blockPx ** 2 - 1) / 12));

function agree(a: FoundTriplet, b: FoundTriplet, umPerPx: number): boolean {
  const ratio = a.model.stepDn / b.model.stepDn;
  const off = seriesPlace(a.place.barWidthPx, umPerPx) - seriesPlace(b.place.barWidthPx, umPerPx);
  return (
    ratio > 0.55 &&
    ratio < 1.8 &&
    betweenTilts(a.place.acrossRad, b.place.acrossRad) < sameTiltRad &&
    Math.abs(off - Math.round(off)) < sameSeries
  );
}

/** Mean distance from whole places of the series, counted round so that ±0.5 is one place. */
function seriesOffset(members: readonly FoundTriplet[], umPerPx: number) {
  let x = 0;
  let y = 0;
  for (const { place } of members) {
    const turn = 2 * Math.PI * seriesPlace(place.barWidthPx, umPerPx);
    x += Math.cos(turn);
    y += Math.sin(turn);
  }
  const mean = Math.atan2(y, x) / (2 * Math.PI);
  const strength = Math.min(1, Math.hypot(x, y) / members.length);
  const std = Math.sqrt(-2 * Math.log(Math.max(1e-9, strength))) / (2 * Math.PI);
  return { mean, std: Math.max(0.01, std) / Math.sqrt(members.length) };
}

/** Step as a plane over the frame, for light that falls off; a constant where there are few. */
function stepPlane(members: readonly FoundTriplet[]): KnownTarget['stepAt'] {
  const n = members.length;
  const mean = (of: (m: FoundTriplet) => number) => members.reduce((sum, m) => sum + of(m), 0) / n;
  const mx = mean((m) => m.place.xPx);
  const my = mean((m) => m.place.yPx);
  const ms = mean((m) => m.model.stepDn);
  let [xx, xy, yy, xs, ys] = [0, 0, 0, 0, 0];
  for (const { place, model } of members) {
    const dx = place.xPx - mx;
    const dy = place.yPx - my;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
    xs += dx * (model.stepDn - ms);
    ys += dy * (model.stepDn - ms);
  }
  // A slope is held near zero until the places are spread well.
  const hold = 0.02 * (xx + yy) + 1e-9;
  const determinant = (xx + hold) * (yy + hold) - xy * xy;
  const enough = n >= 5;
  const gx = enough ? (xs * (yy + hold) - ys * xy) / determinant : 0;
  const gy = enough ? (ys * (xx + hold) - xs * xy) / determinant : 0;
  const at = (x: number, y: number) => ms + gx * (x - mx) + gy * (y - my);
  const scatter = Math.sqrt(mean(({ place, model }) => (model.stepDn - at(place.xPx, place.yPx)) ** 2));
  const limit = (value: number) =>
    Math.sign(ms) * Math.max(0.3 * Math.abs(ms), Math.min(2 * Math.abs(ms), Math.abs(value)));
  return (x, y) => ({ stepDn: limit(at(x, y)), stdDn: Math.hypot(scatter, 0.015 * Math.abs(ms)) });
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return ((sorted[(sorted.length - 1) >> 1] ?? Number.NaN) + (sorted[sorted.length >> 1] ?? Number.NaN)) / 2;
}
