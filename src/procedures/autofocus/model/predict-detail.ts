import { expectedBlur, type RingBlurTable, type SceneLikelihood, type SpectrumRings } from '../../../image/index.js';
import { detailOf } from './detail.js';
import type { FocusEstimate } from './focus-estimate.js';
import { blurRadiusPx, type CompleteFocusOptics } from './focus-optics.js';
import type { BelievedFrame } from './hypothesis-fit.js';

/** What a prediction may be off, relative. */
export const predictionError = 0.2;
const blurErrorPx = 0.3;

/** Detail that the best estimate predicts for a frame at a power, as bright as the first one. */
export function predictDetail({
  frames,
  estimate,
  powerDpt,
  scaleRatio,
  optics,
  table,
  likelihood,
  rings,
  sidePx,
  meanDn,
}: {
  frames: readonly BelievedFrame[];
  estimate: FocusEstimate;
  powerDpt: number;
  /** How much larger it will show the scene than the first. */
  scaleRatio: number;
  optics: CompleteFocusOptics;
  table: RingBlurTable;
  likelihood: SceneLikelihood;
  rings: SpectrumRings;
  /** Shorter side of the region. */
  sidePx: number;
  /** Mean grey value of the first frame. */
  meanDn: number;
}): number {
  const { blurRadiusPerDptPx, sphericalWaves, asymmetryPerDpt, focalPowerDpt: bestFocusDpt } = estimate;
  const asked = (focalPowerDpt: number, ownScaleRatio: number) => ({
    blurRadiusPx:
      blurRadiusPx(optics, { blurRadiusPerDptPx, focalPowerDpt, bestFocusDpt, asymmetryPerDpt }) / ownScaleRatio,
    blurRadiusStdPx: blurErrorPx,
    sphericalWaves,
  });
  const blurs = frames.map(({ focalPowersDpt, powersDn2, scaleRatio }) => {
    const blur = expectedBlur(powersDn2.length);
    const of = asked(focalPowersDpt[focalPowersDpt.length >> 1]!, scaleRatio);
    table.read(of, blur.shares, blur.spreads);
    blur.leakRatio = Math.abs(of.blurRadiusPx) / sidePx;
    return blur;
  });
  const { logPowers } = likelihood.fit(frames, blurs, predictionError);
  const share = new Float64Array(logPowers.length);
  table.read(asked(powerDpt, scaleRatio), share);
  const { noiseDn2 } = frames[0]!;
  const powersDn2 = share.map((part, ring) => noiseDn2 + scaleRatio ** 2 * part * Math.exp(logPowers[ring]!));
  return detailOf({ powersDn2, noiseDn2, meanDn, rings }).measure;
}
