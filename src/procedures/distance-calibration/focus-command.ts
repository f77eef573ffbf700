import { FocuswrightError } from '../../base/index.js';
import { focalPowerAt, focalPowerCommandDpt } from '../../optics/index.js';
import { type BuildValues, layoutAsBuilt, type Station } from '../../station/index.js';

/**
 * The command that focuses a distance on a station built with given errors, at the lens's reference temperature.
 *
 * Model    the paraxial layout with ring distance, spacer and focal length as built; then the straight line of the lens
 * Formula  command = (P(distance; ring, spacer, f) − offset) / gain
 * Returns  dpt, as the lens is told; may lie outside its range.
 * Throws   FocuswrightError `layout-forms-no-image` where no power focuses the distance; RangeError for a build that
 *          cannot be made (negative ring distance …).
 */
export function focusCommandDpt({
  station,
  build,
  workingDistanceMm,
}: {
  station: Station;
  build: BuildValues;
  workingDistanceMm: number;
}): number {
  const model = layoutAsBuilt(station, build);
  const power = focalPowerAt({ model, workingDistanceMm });
  if (power.kind === 'none') {
    throw new FocuswrightError('layout-forms-no-image', { workingDistanceMm, reason: power.reason });
  }
  return focalPowerCommandDpt({
    actualDpt: power.focalPowerDpt,
    gain: build.powerGain,
    offsetDpt: build.powerOffsetDpt,
    temperatureDegC: station.parts.tunableLens.referenceTemperatureDegC,
    referenceTemperatureDegC: station.parts.tunableLens.referenceTemperatureDegC,
    temperatureCoefficientDptPerDegC: station.parts.tunableLens.temperatureCoefficientDptPerDegC,
  });
}
