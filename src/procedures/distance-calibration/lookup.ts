import { mmPerM, requireNumber } from '../../base/index.js';
import type { CalibrationRecord } from '../../station/index.js';

/** A calibration that was fitted. */
export type FittedCalibration = Extract<CalibrationRecord, { kind: 'fitted' }>;

/** Lens temperature and its effect, where the lens is not at the calibration's reference temperature. */
export interface LensTemperature {
  temperatureDegC: number;
  temperatureCoefficientDptPerDegC: number;
}

/**
 * The command that focuses a distance, from a calibration.
 *
 * Model    the calibration's curve, straight between its points in vergence (error below 1e-4 dpt), then the drift with
 *          temperature: command = curve − k (T − T_ref)
 * Returns  the command with the half-width of its 95 % prediction interval.
 * Throws   RangeError for a distance outside the calibrated range.
 */
export function powerForDistance({
  calibration,
  workingDistanceMm,
  lens,
}: {
  calibration: FittedCalibration;
  workingDistanceMm: number;
  lens?: LensTemperature;
}): { focalPowerDpt: number; predicted95Dpt: number } {
  const { curve } = calibration;
  const [nearMm, farMm] = [curve[0]!.workingDistanceMm, curve.at(-1)!.workingDistanceMm];
  const distanceMm = snapped(workingDistanceMm, nearMm, farMm);
  requireNumber('workingDistanceMm', distanceMm, { min: nearMm, max: farMm, unit: 'mm' });
  const vergences = curve.map((point) => mmPerM / point.workingDistanceMm);
  const at = place(vergences, mmPerM / distanceMm);
  return {
    focalPowerDpt:
      between(
        curve.map((p) => p.focalPowerDpt),
        at,
      ) - driftDpt(calibration, lens),
    predicted95Dpt: between(
      curve.map((p) => p.predicted95Dpt),
      at,
    ),
  };
}

/**
 * The distance that a command focuses, from a calibration: the inverse of powerForDistance.
 *
 * Returns  the distance with the half-width of its 95 % prediction interval (first order); null where the command
 *          focuses no calibrated distance.
 * Throws   RangeError for a power that is not finite.
 */
export function distanceForPower({
  calibration,
  focalPowerDpt,
  lens,
}: {
  calibration: FittedCalibration;
  focalPowerDpt: number;
  lens?: LensTemperature;
}): { workingDistanceMm: number; predicted95Mm: number } | null {
  const wantedDpt = requireNumber('focalPowerDpt', focalPowerDpt, { unit: 'dpt' }) + driftDpt(calibration, lens);
  const powers = calibration.curve.map((point) => point.focalPowerDpt);
  const slack = 1e-9;
  if (wantedDpt < Math.min(...powers) - slack || wantedDpt > Math.max(...powers) + slack) return null;
  const at = place(powers, wantedDpt);
  const vergences = calibration.curve.map((point) => mmPerM / point.workingDistanceMm);
  const workingDistanceMm = mmPerM / between(vergences, at);
  const vergencePerPower =
    (vergences[at.index + 1]! - vergences[at.index]!) / (powers[at.index + 1]! - powers[at.index]!);
  const predicted95Dpt = between(
    calibration.curve.map((p) => p.predicted95Dpt),
    at,
  );
  return {
    workingDistanceMm,
    predicted95Mm: Math.abs((predicted95Dpt * vergencePerPower * workingDistanceMm ** 2) / mmPerM),
  };
}

function driftDpt(calibration: FittedCalibration, lens: LensTemperature | undefined): number {
  if (!lens) return 0;
  return lens.temperatureCoefficientDptPerDegC * (lens.temperatureDegC - calibration.referenceTemperatureDegC);
}

/** A value that misses an end by rounding only becomes that end. */
function snapped(value: number, low: number, high: number): number {
  const slack = 1e-9 * high;
  if (Math.abs(value - low) < slack) return low;
  return Math.abs(value - high) < slack ? high : value;
}

/** Where a value lies in a list that rises or falls: the interval, and the share of it. */
function place(list: readonly number[], value: number): { index: number; share: number } {
  const rising = list.at(-1)! > list[0]!;
  let index = list.findIndex((v, i) => i > 0 && (rising ? v >= value : v <= value)) - 1;
  if (index < 0) index = list.length - 2;
  return { index, share: (value - list[index]!) / (list[index + 1]! - list[index]!) };
}

const between = (list: readonly number[], { index, share }: { index: number; share: number }): number =>
  list[index]! + share * (list[index + 1]! - list[index]!);
