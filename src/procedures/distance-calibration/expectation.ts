import type { AutofocusRecord, Station } from '../../station/index.js';
import type { FocusView } from '../autofocus/plan.js';
import { buildParametersOf } from './build-parameters.js';
import { fitBuild, predictCommand } from './fit-build.js';
import { calibrationDatum, observationsOf } from './observation.js';

/** Standard deviations of the expectation within which best focus is first looked for. */
const sigmas = 4;

/**
 * Where best focus is expected at a distance, from the station and from what was found at other distances.
 *
 * Model    the fit of the distance calibration to what is known so far (nothing known: the prediction with the tolerances),
 *          at the temperature of the last reading
 * Returns  a centre and how far it may be off; it saves frames and decides nothing.
 */
export function expectedFocus(
  station: Station,
  found: readonly AutofocusRecord[],
  workingDistanceMm: number,
): NonNullable<FocusView['expected']> {
  const model = { station, parameters: buildParametersOf(station) };
  const observations = observationsOf(found);
  const fit = fitBuild(
    model,
    observations.map((observation) => calibrationDatum(station, observation)),
    [workingDistanceMm],
  );
  const { focalPowerDpt, focalPowerStdDpt } = predictCommand(model, fit, workingDistanceMm);
  const { temperatureCoefficientDptPerDegC, referenceTemperatureDegC } = station.parts.tunableLens;
  const lastDegC = observations.at(-1)?.temperatureDegC ?? referenceTemperatureDegC;
  const driftDpt = temperatureCoefficientDptPerDegC * (lastDegC - referenceTemperatureDegC);
  return { focalPowerDpt: focalPowerDpt - driftDpt, mostOffDpt: sigmas * focalPowerStdDpt };
}
