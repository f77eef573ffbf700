import { mmPerM, requireFinite } from '../base/index.js';

/**
 * Vergence of light from an object: negative when it diverges, 0 from infinity.
 *
 * Formula  U = −1/s, s in m
 * Throws   RangeError if the distance is 0 or not finite; null stands for infinity.
 */
export function objectVergenceDpt({ objectDistanceMm }: { objectDistanceMm: number | null }): number {
  if (objectDistanceMm === null) return 0;
  requireFinite('objectDistanceMm', objectDistanceMm, 'mm');
  if (objectDistanceMm === 0)
    throw new RangeError('objectDistanceMm is 0 mm; allowed: a finite number other than 0 mm');
  return -mmPerM / objectDistanceMm;
}

/** Vergence behind a thin lens: V = U + P. */
export function refractedVergenceDpt({ vergenceDpt, powerDpt }: { vergenceDpt: number; powerDpt: number }): number {
  return requireFinite('vergenceDpt', vergenceDpt, 'dpt') + requireFinite('powerDpt', powerDpt, 'dpt');
}

/**
 * Vergence after travel over a gap.
 *
 * Formula  U2 = V1 / (1 − d·V1), d in m
 * Returns  null where the light comes to its focus at the end of the gap (vergence without bound).
 * Throws   RangeError if a value is not finite.
 * Checked  reference: the tunable lens 10 mm before f 16 mm, tests/optics/vergence.test.ts
 */
export function transferredVergenceDpt({ vergenceDpt, gapMm }: { vergenceDpt: number; gapMm: number }): number | null {
  requireFinite('vergenceDpt', vergenceDpt, 'dpt');
  requireFinite('gapMm', gapMm, 'mm');
  const reduction = 1 - (gapMm / mmPerM) * vergenceDpt;
  return reduction === 0 ? null : vergenceDpt / reduction;
}
