import { type CalibrationRecord, middleDistanceMm, type ResolutionReading, type Station } from '../../station/index.js';
import { type FittedCalibration, type LensTemperature, powerForDistance } from '../distance-calibration/lookup.js';
import { nearestDistanceMm, placeableMm } from '../distance-calibration/target-distances.js';
import { fixedText } from '../fixed-text.js';
import type { AvailablePowers } from '../sweep/plan.js';

/** Where resolution is checked. */
export interface ResolutionPlace {
  name: ResolutionReading['name'];
  workingDistanceMm: number;
}

/** Near, middle (in vergence) and far of the task; of a stage with fixed places, those nearest to them. */
export function resolutionPlaces(
  station: Station,
  { distancesMm }: { distancesMm: readonly number[] | null },
): ResolutionPlace[] {
  const wanted = [
    { name: 'near', workingDistanceMm: station.task.nearMm },
    { name: 'middle', workingDistanceMm: placeableMm(middleDistanceMm(station)) },
    { name: 'far', workingDistanceMm: station.task.farMm },
  ] as const;
  if (distancesMm === null) return [...wanted];
  return wanted.map(({ name, workingDistanceMm }) => ({
    name,
    workingDistanceMm: nearestDistanceMm(distancesMm, workingDistanceMm),
  }));
}

/** The power for a check, or why there is none. */
export type CheckPower =
  | {
      kind: 'power';
      /** To be commanded; the nearest available one. */
      focalPowerDpt: number;
      /** What the calibration says, and its standard deviation. */
      calibratedDpt: number;
      calibratedStdDpt: number;
    }
  | { kind: 'refused'; reason: string; remedy: string };

/** Without a calibration there is no best focus to go to. */
export function withoutCalibration(calibration: Exclude<CalibrationRecord, FittedCalibration> | null) {
  return {
    kind: 'refused' as const,
    reason: `There is no distance calibration to go to best focus by.${calibration ? ` ${calibration.message}` : ''}`,
    remedy: calibration?.remedy ?? 'Run the distance calibration first.',
  };
}

/**
 * Best focus for a check, by the calibration and inside what the lens can do.
 *
 * Returns  a refusal where the distance is not calibrated, or where best focus lies beyond the available powers by more
 *          than the depth-of-field half-width.
 */
export function planCheckPower({
  calibration,
  workingDistanceMm,
  lens,
  available,
  halfWidthDpt,
}: {
  calibration: FittedCalibration;
  workingDistanceMm: number;
  lens: LensTemperature;
  available: AvailablePowers;
  halfWidthDpt: number;
}): CheckPower {
  const [nearest, farthest] = [calibration.curve[0]!.workingDistanceMm, calibration.curve.at(-1)!.workingDistanceMm];
  if (workingDistanceMm < nearest || workingDistanceMm > farthest) {
    return {
      kind: 'refused',
      reason: `The target stands at ${workingDistanceMm.toFixed(1)} mm, outside the calibrated ${nearest.toFixed(1)} … ${farthest.toFixed(1)} mm.`,
      remedy: 'Put the target at the wanted distance, or calibrate farther.',
    };
  }
  const at = powerForDistance({ calibration, workingDistanceMm, lens });
  const { powerMinDpt, powerMaxDpt, powersDpt } = available;
  const inside = Math.min(powerMaxDpt, Math.max(powerMinDpt, at.focalPowerDpt));
  if (Math.abs(inside - at.focalPowerDpt) > halfWidthDpt) {
    return {
      kind: 'refused',
      reason: `Best focus needs ${fixedText(at.focalPowerDpt, 3)} dpt; the lens may go from ${fixedText(powerMinDpt, 3)} to ${fixedText(powerMaxDpt, 3)} dpt.`,
      remedy: 'Bring the distance into the lens’s reach: turn the focus ring, change the spacer, or move the target.',
    };
  }
  const focalPowerDpt =
    powersDpt === null ? inside : powersDpt.reduce((a, b) => (Math.abs(b - inside) < Math.abs(a - inside) ? b : a));
  return { kind: 'power', focalPowerDpt, calibratedDpt: at.focalPowerDpt, calibratedStdDpt: at.predicted95Dpt / 1.96 };
}
