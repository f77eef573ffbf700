import type { FoundTriplet } from './find-triplets.js';
import { betweenTilts, type KnownTarget } from './known-target.js';

/** True where a triplet, however faint, fits the target found: polarity, turn, contrast before blur, blur, length. */
export function belongsTo(target: KnownTarget, { model, std, place, explained }: FoundTriplet): boolean {
  const { stepDn } = target.stepAt(place.xPx, place.yPx);
  const ratio = model.stepDn / stepDn;
  const blurPx = Math.max(0.3, target.blurPx);
  return (
    explained > 0.85 &&
    ratio > 0.65 &&
    ratio < 1.5 &&
    Math.abs(model.lengthRatio - 1) < 0.1 + 2 * Math.min(0.05, std.lengthRatio) &&
    betweenTilts(place.acrossRad, target.tiltRad) < 0.06 + 3 * Math.min(0.06, std.turnRad) &&
    model.blurPx < Math.max(2.2 * blurPx, 0.4 * model.barWidthPx)
  );
}
