import { type BlurStages, contrastHalfWidthDpt, type TracedSystem } from '../optics/index.js';
import { powerLimitsOf } from './power-limits.js';
import type { Station } from './schema.js';

/**
 * How far the power may be off best focus of a target that stays where it is, until its contrast falls below a threshold:
 * what "depth of field allows" in dpt, for the plan and for the procedures alike.
 *
 * Model    contrastHalfWidthDpt of the station as written
 * Returns  dpt > 0, at most the station's whole range of power; null where even in focus the contrast is not reached.
 * Throws   RangeError naming the field, if a value is out of its range.
 */
export function focusHalfWidthDpt({
  station,
  system,
  stages,
  frequencyPerMm,
  contrastNeeded,
}: {
  station: Station;
  /** The layout at the power that focuses the target. */
  system: TracedSystem;
  /** What blurs beside defocus; see sharpnessStagesOf. */
  stages: BlurStages;
  /** On the sensor. */
  frequencyPerMm: number;
  contrastNeeded: number;
}): number | null {
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  return contrastHalfWidthDpt({
    ...stages,
    system,
    spatialFrequencyPerMm: frequencyPerMm,
    contrastThreshold: contrastNeeded,
    mostDpt: powerMaxDpt - powerMinDpt,
  });
}
