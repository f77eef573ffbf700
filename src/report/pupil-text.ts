import type { PupilRecord } from '../station/index.js';
import { formatNumber } from './format-number.js';

/** Farther away than this a pupil counts as at infinity: the beam is telecentric there. */
const infiniteMm = 1e5;

/** A pupil in words, mm: `4.02, 21.6 behind the front`. */
export function pupilText(
  { diameterMm, positionMm }: PupilRecord,
  where: 'behind the front' | 'before the sensor',
): string {
  if (Math.abs(positionMm) > infiniteMm) return 'at infinity (telecentric)';
  const opposite = where === 'behind the front' ? 'before the front' : 'behind the sensor';
  return `${formatNumber(diameterMm)}, ${formatNumber(Math.abs(positionMm))} ${positionMm < 0 ? opposite : where}`;
}
