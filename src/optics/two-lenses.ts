import { mmPerM, requireFinite, requireNotNegative, requirePositive } from '../base/index.js';

/** Two thin lenses in air as one. Lengths are null where the pair is afocal (power 0). */
export interface LensPair {
  powerDpt: number;
  focalLengthMm: number | null;
  /** From lens 2 to the rear focal point, positive behind it. */
  backFocalDistanceMm: number | null;
  /** From the front focal point to lens 1, positive before it. */
  frontFocalDistanceMm: number | null;
}

/**
 * Power and focal distances of two thin lenses at a gap (Gullstrand's equation).
 *
 * Formula  P = P1 + P2 − d·P1·P2;  BFD = (1 − d·P1)/P;  FFD = (1 − d·P2)/P, d in m
 * Throws   RangeError if a value is not finite or the gap is negative.
 * Source   Hecht, Optics; Smith, Modern Optical Engineering (from memory; derived again)
 * Checked  reference: tests/optics/two-lenses.test.ts; lens 2 in the focus of lens 1 gives a BFD of 0
 */
export function lensPair({
  firstPowerDpt,
  secondPowerDpt,
  gapMm,
}: {
  firstPowerDpt: number;
  secondPowerDpt: number;
  gapMm: number;
}): LensPair {
  requireFinite('firstPowerDpt', firstPowerDpt, 'dpt');
  requireFinite('secondPowerDpt', secondPowerDpt, 'dpt');
  requireNotNegative('gapMm', gapMm, 'mm');
  const gapM = gapMm / mmPerM;
  const powerDpt = firstPowerDpt + secondPowerDpt - gapM * firstPowerDpt * secondPowerDpt;
  if (powerDpt === 0) return { powerDpt, focalLengthMm: null, backFocalDistanceMm: null, frontFocalDistanceMm: null };
  return {
    powerDpt,
    focalLengthMm: mmPerM / powerDpt,
    backFocalDistanceMm: (mmPerM * (1 - gapM * firstPowerDpt)) / powerDpt,
    frontFocalDistanceMm: (mmPerM * (1 - gapM * secondPowerDpt)) / powerDpt,
  };
}

/** Power of thin lenses in touch: the sum. Source: OpenStax University Physics vol. 3, modules m58531 and m58534. */
export function touchingLensesPowerDpt(powersDpt: readonly number[]): number {
  return powersDpt.reduce((sum, powerDpt) => sum + requireFinite('powersDpt', powerDpt, 'dpt'), 0);
}

/**
 * Where a lens focuses once a close-up lens touches its front.
 *
 * Formula  1 / (1/s0 + P), s0 in m; at infinity focus 1/P, whatever the main lens
 * Returns  mm, or null where no real object is sharp (infinity or beyond).
 * Throws   RangeError if the power is not finite or the distance not > 0.
 * Checked  closed form: +3 dpt at infinity focus → 333.33 mm; at 1 m → 250 mm
 */
export function closeUpDistanceMm({
  closeUpPowerDpt,
  focusedAtMm,
}: {
  closeUpPowerDpt: number;
  /** Distance the main lens is set to; null = infinity. */
  focusedAtMm: number | null;
}): number | null {
  requireFinite('closeUpPowerDpt', closeUpPowerDpt, 'dpt');
  const ringDpt = focusedAtMm === null ? 0 : mmPerM / requirePositive('focusedAtMm', focusedAtMm, 'mm');
  const sumDpt = ringDpt + closeUpPowerDpt;
  return sumDpt > 0 ? mmPerM / sumDpt : null;
}

/**
 * Size ratio with an extension tube.
 *
 * Formula  |m| = m0 + t/f
 * Throws   RangeError if the focal length is not > 0, or tube or start magnification negative.
 * Checked  closed form: 5 mm on f 25 mm → 0.2
 */
export function extensionTubeMagnification({
  focalLengthMm,
  tubeMm,
  magnificationWithoutTube,
}: {
  focalLengthMm: number;
  tubeMm: number;
  /** Size ratio before; 0 for a lens set to infinity. */
  magnificationWithoutTube: number;
}): number {
  requirePositive('focalLengthMm', focalLengthMm, 'mm');
  requireNotNegative('tubeMm', tubeMm, 'mm');
  requireNotNegative('magnificationWithoutTube', magnificationWithoutTube);
  return magnificationWithoutTube + tubeMm / focalLengthMm;
}
