import { requireNumber, requirePositive } from '../../base/index.js';
import { stepSettlingTimeMs } from '../../optics/index.js';
import type { Station } from '../../station/index.js';

/**
 * How long to wait after a step of the command until the lens stays within a tolerance of it.
 *
 * Model    second-order step response of the station's lens with its dead time (stepSettlingTimeMs)
 * Returns  ms; the dead time alone where the step is within the tolerance.
 * Throws   RangeError naming the field.
 * Trust    as good as natural frequency and damping are known; a slow creep behind the step is not in it.
 */
export function settlingWaitMs({
  station,
  stepDpt,
  toleranceDpt,
}: {
  station: Station;
  stepDpt: number;
  toleranceDpt: number;
}): number {
  requireNumber('stepDpt', stepDpt, { unit: 'dpt' });
  requirePositive('toleranceDpt', toleranceDpt, 'dpt');
  const { naturalFrequencyHz, dampingRatio, deadTimeMs } = station.parts.tunableLens;
  const fraction = toleranceDpt / Math.abs(stepDpt);
  if (fraction >= 1) return deadTimeMs;
  return stepSettlingTimeMs({ fraction, deadTimeMs, naturalFrequencyHz, dampingRatio }) ?? deadTimeMs;
}
