import type { FittedTriplet } from './fit-triplet.js';
import { type BarProfile, barTables, refineBlur, shareUnder } from './refine-blur.js';
import { acrossShare, acrossShareByBlur, type TripletModel } from './triplet-model.js';
import type { TripletPatch } from './triplet-patch.js';

/** Contrast of three bars. */
export interface BarContrast {
  /** (bars − spaces) / (bar level − ground level), 0 … 1: 1 = as printed. */
  contrast: number;
  contrastStd: number;
  /** Mean grey value of the three extremes in the bars and of the two in the spaces. */
  barsDn: number;
  spacesDn: number;
}

/** Extremes of a profile: mean of the three in the bars and of the two in the spaces, in parts of the fitted step. */
interface Extremes {
  bars: number;
  spaces: number;
  /** Step in parts of the fitted one, and its variance. */
  step: number;
  stepVariance: number;
  /** Variance of bars − spaces. */
  variance: number;
}

/** What the shapes of blur that are tried cannot follow. */
const shapeStd = 0.004;

/**
 * Contrast from the extremes of the fitted profile across the middle of the bars.
 *
 * Model    the extremes are points of a fitted curve before the averaging over samples, not means over part of a bar: such a mean
 *          reads a narrow bar low. Blur: disc ∗ Gaussian ∗ pixel.
 * Returns  contrast against the bars' own step and that of the whole target, weighted by their variances
 */
export function barContrast(
  fit: FittedTriplet,
  patch: TripletPatch,
  common?: { stepDn: number; stdDn: number },
): BarContrast {
  const { model } = fit;
  const profile = refineBlur(fit, patch);
  const { bars, spaces, step, stepVariance, variance } = profile
    ? lensExtremes(profile, model)
    : gaussExtremes(fit, patch);
  const ownVariance = stepVariance + 0.002 ** 2;
  const others = common ? common.stepDn / model.stepDn : step;
  const othersVariance = common ? (common.stdDn / model.stepDn) ** 2 : 1e6;
  const joint = (step / ownVariance + others / othersVariance) / (1 / ownVariance + 1 / othersVariance);
  const jointStd = Math.sqrt(1 / (1 / ownVariance + 1 / othersVariance));
  const contrast = (bars - spaces) / joint;
  return {
    contrast,
    contrastStd: Math.hypot(Math.sqrt(Math.max(0, variance)) / joint, contrast * (jointStd / joint), shapeStd),
    barsDn: model.groundDn + bars * model.stepDn,
    spacesDn: model.groundDn + spaces * model.stepDn,
  };
}

function lensExtremes({ blur, level, step, covariance }: BarProfile, model: TripletModel): Extremes {
  const w = model.barWidthPx;
  const tables = barTables(blur, w, model.blurPx, 1);
  const at = [-2, -1, 0, 1, 2].map((k) => {
    const u = extremeAt((x) => shareUnder(tables, w, x)[0], w, k);
    const [share, byDisc, byGauss] = shareUnder(tables, w, u);
    return [1, share, step * byDisc, step * byGauss];
  });
  const inBars = meanOf([at[0]!, at[2]!, at[4]!]);
  const inSpaces = meanOf([at[1]!, at[3]!]);
  let variance = 0;
  for (let a = 0; a < 4; a++) {
    for (let b = 0; b < 4; b++) {
      variance += (inBars[a]! - inSpaces[a]!) * (inBars[b]! - inSpaces[b]!) * covariance[a * 4 + b]!;
    }
  }
  return {
    bars: level + step * inBars[1]!,
    spaces: level + step * inSpaces[1]!,
    step,
    stepVariance: covariance[5]!,
    variance,
  };
}

/** Where the blur is small against the bars its shape does not matter. */
function gaussExtremes({ model, std }: FittedTriplet, patch: TripletPatch): Extremes {
  const blurPx = Math.sqrt(Math.max(0.04, model.blurPx ** 2 - (patch.blockPx ** 2 - 1) / 12));
  const sharp = { ...model, blurPx };
  const at = [-2, -1, 0, 1, 2].map((k) => extremeAt((x) => acrossShare(sharp, x), model.barWidthPx, k));
  const shares = at.map((u) => [acrossShare(sharp, u), acrossShareByBlur(sharp, u)]);
  const inBars = meanOf([shares[0]!, shares[2]!, shares[4]!]);
  const inSpaces = meanOf([shares[1]!, shares[3]!]);
  const stepVariance = (std.stepDn / model.stepDn) ** 2;
  return {
    bars: inBars[0]!,
    spaces: inSpaces[0]!,
    step: 1,
    stepVariance,
    variance: ((inBars[1]! - inSpaces[1]!) * std.blurPx) ** 2 + stepVariance * (inBars[0]! - inSpaces[0]!) ** 2,
  };
}

const meanOf = (lists: readonly (readonly number[])[]): number[] =>
  lists[0]!.map((_, k) => lists.reduce((sum, list) => sum + list[k]!, 0) / lists.length);

/** Where a profile turns in bar or space number k (−2 … 2, even = bar), inside that bar or space. */
function extremeAt(profile: (uPx: number) => number, w: number, k: number): number {
  const sign = k & 1 ? -1 : 1;
  let at = k * w;
  let best = sign * profile(at);
  for (let i = -10; i <= 10; i++) {
    const u = (k + i / 20) * w;
    const value = sign * profile(u);
    if (value > best + 1e-9) {
      best = value;
      at = u;
    }
  }
  return at;
}
