import { requireNumber, requirePositive } from '../../base/index.js';
import { type AutofocusRecord, nominalBuild, type Station } from '../../station/index.js';
import { focusCommandDpt } from './focus-command.js';

/** Best focus as found at one distance. */
export interface FocusObservation {
  workingDistanceMm: number;
  /** As commanded. */
  focalPowerDpt: number;
  focalPowerStdDpt: number;
  /** Of the lens while it was found; null where the camera has no reading. */
  temperatureDegC: number | null;
}

/** An observation brought to the lens's reference temperature, with all its uncertainty in dpt. */
export interface CalibrationDatum {
  workingDistanceMm: number;
  temperatureDegC: number | null;
  /** Command that would be needed at the reference temperature. */
  value: number;
  std: number;
  /** What the station as written predicts. */
  predictedDpt: number;
}

/** The observations among autofocus results: refusals have none. */
export function observationsOf(results: readonly AutofocusRecord[]): FocusObservation[] {
  return results.flatMap((result) => (result.kind === 'found' ? [result] : []));
}

/**
 * Brings an observation to the reference temperature and adds up its uncertainty.
 *
 * Formula  P(T_ref) = P + k (T − T_ref);
 *          σ² = σ_focus² + (dP/ddistance · σ_distance)² + (k σ_T)²
 * Throws   RangeError naming a field that is not finite, or a standard deviation that is not > 0.
 * Trust    without a temperature reading the task's middle temperature stands in, with a rectangular spread over its range.
 */
export function calibrationDatum(station: Station, observation: FocusObservation): CalibrationDatum {
  const workingDistanceMm = requirePositive('workingDistanceMm', observation.workingDistanceMm, 'mm');
  const powerDpt = requireNumber('focalPowerDpt', observation.focalPowerDpt, { unit: 'dpt' });
  const focusStdDpt = requirePositive('focalPowerStdDpt', observation.focalPowerStdDpt, 'dpt');
  const { temperatureCoefficientDptPerDegC: coefficient, referenceTemperatureDegC } = station.parts.tunableLens;
  const { degC, stdDegC } = temperatureOf(station, observation.temperatureDegC);
  return {
    workingDistanceMm,
    temperatureDegC: observation.temperatureDegC,
    value: powerDpt + coefficient * (degC - referenceTemperatureDegC),
    std: Math.hypot(focusStdDpt, distanceStdDpt(station, workingDistanceMm), coefficient * stdDegC),
    predictedDpt: nominalCommandDpt(station, workingDistanceMm),
  };
}

/** The command that focuses a distance on the station as written, at the reference temperature. */
export function nominalCommandDpt(station: Station, workingDistanceMm: number): number {
  return focusCommandDpt({ station, build: nominalBuild(station), workingDistanceMm });
}

/** The uncertainty of a target distance, as the change of best focus it makes. */
export function distanceStdDpt(station: Station, workingDistanceMm: number): number {
  const half = workingDistanceMm * 1e-3;
  const nearer = nominalCommandDpt(station, workingDistanceMm - half);
  const farther = nominalCommandDpt(station, workingDistanceMm + half);
  return Math.abs((nearer - farther) / (2 * half)) * station.commissioning.distanceStdMm;
}

function temperatureOf(station: Station, reading: number | null): { degC: number; stdDegC: number } {
  if (reading !== null) return { degC: reading, stdDegC: station.commissioning.temperatureStdDegC };
  const { temperatureMinDegC: min, temperatureMaxDegC: max } = station.task;
  return { degC: (min + max) / 2, stdDegC: (max - min) / Math.sqrt(12) };
}
