import { type BuildTolerance, buildTolerancesOf, type Station } from '../../station/index.js';

/** What a distance calibration may find built otherwise than the station file says. */
const fittedNames = ['powerOffsetDpt', 'powerGain', 'ringDistanceRelative', 'spacerMm', 'focalLengthMm'] as const;

/** One build parameter: the value the station file stands for, and the standard deviation of its prior, > 0. */
export interface BuildParameter extends BuildTolerance {
  name: (typeof fittedNames)[number];
}

/**
 * The build parameters that a distance calibration may fit, with their priors.
 *
 * Model    independent normal priors with the tolerances of the parts. The lens offset also takes half the hysteresis,
 *          because the calibration is learned from one direction of approach. A parameter with a tolerance of 0 is held.
 *          Gap and front are held too: over a task's distances they act like the others.
 */
export function buildParametersOf(station: Station): BuildParameter[] {
  const { hysteresisDpt } = station.parts.tunableLens;
  const isFitted = (tolerance: BuildTolerance): tolerance is BuildParameter =>
    (fittedNames as readonly string[]).includes(tolerance.name);
  return buildTolerancesOf(station)
    .filter(isFitted)
    .map((p) => (p.name === 'powerOffsetDpt' ? { ...p, std: Math.hypot(p.std, hysteresisDpt / 2) } : p))
    .filter(({ std }) => std > 0);
}
