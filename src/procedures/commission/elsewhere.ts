import type { Station } from '../../station/index.js';
import { focusHalfWidthDpt, requirePredictedPowerDpt } from '../focus-half-width.js';

/**
 * Whether a distance measured says nothing of a distance wanted: best focus of the two, as predicted, differs by more than
 * the half-width of the depth of field there.
 */
export function isElsewhere({
  station,
  wantedMm,
  measuredMm,
}: {
  station: Station;
  wantedMm: number;
  measuredMm: number;
}): boolean {
  const powerDpt = (workingDistanceMm: number) => requirePredictedPowerDpt({ station, workingDistanceMm });
  return (
    Math.abs(powerDpt(measuredMm) - powerDpt(wantedMm)) > focusHalfWidthDpt({ station, workingDistanceMm: wantedMm })
  );
}

/** What to do about it. */
export const placeThere = (wantedMm: number): string =>
  `Put the target at ${wantedMm.toFixed(0)} mm, or record frames there, and commission again.`;
