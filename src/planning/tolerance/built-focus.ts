import type { LayoutModel } from '../../optics/index.js';
import { powerLimitsOf, type Station } from '../../station/index.js';
import { type BuiltModel, powerFor } from './built-model.js';
import type { DrawnStation } from './deviations.js';

/**
 * Change of every plane's command by a distance calibration of a built station.
 *
 * Model    best focus found at each calibration distance, with its noise, through calibrationGain
 */
export function calibratedChangesDpt(
  { calibration, calibrationCommandsDpt, planes }: BuiltModel,
  { build }: DrawnStation,
  model: LayoutModel,
  pointNoiseDpt: ArrayLike<number>,
): number[] {
  const found = calibration.distancesMm.map((distanceMm, i) => {
    const commandDpt = (powerFor(model, distanceMm) - build.powerOffsetDpt) / build.powerGain;
    return commandDpt - calibrationCommandsDpt[i]! + pointNoiseDpt[i]!;
  });
  return planes.map((_, p) => found.reduce((sum, dpt, i) => sum + calibration.gain[p]![i]! * dpt, 0));
}

/**
 * Power that light meets at a command, at the coldest and at the warmest of the task.
 *
 * Model    as focalPowerActualDpt, with the built lens; corrected by the reading and the datasheet's coefficient where the
 *          station does so. A command outside the limits is held at them.
 */
export function actualPowersDpt(station: Station, drawn: DrawnStation, commandDpt: number): [number, number] {
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const { temperatureCoefficientDptPerDegC, referenceTemperatureDegC } = station.parts.tunableLens;
  const { build, temperatureReadingDegC } = drawn;
  const at = (temperatureDegC: number) => {
    const warmerDegC = temperatureDegC - referenceTemperatureDegC;
    const correctionDpt = station.controls.compensateTemperature
      ? temperatureCoefficientDptPerDegC * (warmerDegC + temperatureReadingDegC)
      : 0;
    const heldDpt = Math.min(powerMaxDpt, Math.max(powerMinDpt, commandDpt - correctionDpt));
    return build.powerGain * heldDpt + build.powerOffsetDpt + driftDpt(station, drawn, temperatureDegC);
  };
  return [at(station.task.temperatureMinDegC), at(station.task.temperatureMaxDegC)];
}

/** From the command that a needed power takes to the limit on its side, the less of coldest and warmest; negative outside. */
export function sparePowerDpt(station: Station, drawn: DrawnStation, neededDpt: number, isHigh: boolean): number {
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const { temperatureMinDegC, temperatureMaxDegC } = station.task;
  const { powerOffsetDpt, powerGain } = drawn.build;
  const spares = [temperatureMinDegC, temperatureMaxDegC].map((temperatureDegC) => {
    const commandDpt = (neededDpt - powerOffsetDpt - driftDpt(station, drawn, temperatureDegC)) / powerGain;
    return isHigh ? powerMaxDpt - commandDpt : commandDpt - powerMinDpt;
  });
  return Math.min(...spares);
}

function driftDpt({ parts }: Station, drawn: DrawnStation, temperatureDegC: number): number {
  const { temperatureCoefficientDptPerDegC, referenceTemperatureDegC } = parts.tunableLens;
  return (
    drawn.temperatureCoefficientRatio * temperatureCoefficientDptPerDegC * (temperatureDegC - referenceTemperatureDegC)
  );
}
