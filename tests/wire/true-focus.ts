import { focusCommandDpt } from '../../src/procedures/distance-calibration/focus-command.js';
import { nominalBuild } from '../../src/station/index.js';
import { drawBuildErrors } from '../../src/twin/index.js';
import type { ServedStation } from './served-station.js';

/**
 * Command that truly focuses a distance when it is approached from below, from the hidden build errors of a served station.
 *
 * Input    temperature as the lens controller reads it
 */
export function trueFocusDpt(
  { station, seed }: Pick<ServedStation, 'station' | 'seed'>,
  { workingDistanceMm, temperatureDegC }: { workingDistanceMm: number; temperatureDegC: number },
): number {
  const truth = drawBuildErrors({ station, seed });
  const nominal = nominalBuild(station);
  const build = {
    ...nominal,
    powerOffsetDpt: truth.lensOffsetDpt,
    powerGain: truth.lensGain,
    ringDistanceRelative: truth.ringDistanceRatio - 1,
    spacerMm: nominal.spacerMm + truth.spacerMm,
    focalLengthMm: nominal.focalLengthMm + truth.focalLengthMm,
  };
  const warmerDegC =
    temperatureDegC - truth.temperatureReadingDegC - station.parts.tunableLens.referenceTemperatureDegC;
  const rigid = focusCommandDpt({ station, build, workingDistanceMm });
  return rigid - (truth.temperatureCoefficientDptPerDegC * warmerDegC) / truth.lensGain + truth.hysteresisDpt / 2;
}
