import { bracketedRoot, focalPowerAt, type LayoutModel } from '../optics/index.js';
import { powerLimitsOf, type Station } from '../station/index.js';
import type { Reach } from './reach.js';
import { inWords } from './words.js';

/**
 * What would bring the task's range to the middle of the station's powers: another focus-ring distance, else another
 * spacer; or that the lens has too little range for any.
 *
 * Model    the mean of the powers needed at near and far is moved to the mean of the limits, everything else as written
 */
export function reachRemedy({ station, model, reach }: { station: Station; model: LayoutModel; reach: Reach }): string {
  const { near, far } = reach;
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  if (near.neededPowerDpt === null || far.neededPowerDpt === null) {
    return 'move the tunable lens away from the image of the object: change gapMm or the place of the lens';
  }
  const rangeDpt = powerMaxDpt - powerMinDpt;
  const neededRangeDpt =
    Math.abs(near.neededPowerDpt - far.neededPowerDpt) +
    (near.tolerance?.neededDpt ?? 0) +
    (far.tolerance?.neededDpt ?? 0);
  if (neededRangeDpt > rangeDpt) {
    return (
      `the task needs ${inWords(neededRangeDpt, 'dpt')} of range with tolerances, the station commands ` +
      `${inWords(rangeDpt, 'dpt')}: take a tunable lens with more range, or a smaller range of distances`
    );
  }
  const ringMm = centringRingDistanceMm({ station, model });
  if (ringMm !== null)
    return `set the focus ring to ${inWords(ringMm, 'mm')}: that centres the task in the lens’s range`;
  const spacerMm = centringSpacerMm({ station, model });
  if (spacerMm !== null) return `use a spacer of ${inWords(spacerMm, 'mm')}: that centres the task in the lens’s range`;
  return 'choose another focal length or gap: neither focus ring nor spacer brings the task into the lens’s range';
}

/** Focus-ring distance that centres the task in the powers; null where none from 5 focal lengths to 100 m does. */
export function centringRingDistanceMm({ station, model }: { station: Station; model: LayoutModel }): number | null {
  const nearest = 5 * model.fixedLens.focalLengthMm;
  const vergencePerMm = root(
    (perMm) => offCentreDpt(station, { ...model, ringDistanceMm: 1 / perMm }),
    1e-5,
    1 / nearest,
  );
  return vergencePerMm === null ? null : 1 / vergencePerMm;
}

/** Spacer that centres the task in the powers; null where none up to five focal lengths does. */
export function centringSpacerMm({ station, model }: { station: Station; model: LayoutModel }): number | null {
  return root((spacerMm) => offCentreDpt(station, { ...model, spacerMm }), 0, 5 * model.fixedLens.focalLengthMm);
}

function offCentreDpt(station: Station, model: LayoutModel): number {
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const needed = [station.task.nearMm, station.task.farMm].map((workingDistanceMm) => {
    const found = focalPowerAt({ model, workingDistanceMm });
    return found.kind === 'power' ? found.focalPowerDpt : Number.NaN;
  });
  return (needed[0]! + needed[1]!) / 2 - (powerMinDpt + powerMaxDpt) / 2;
}

/** A root between the ends, or null where the ends have the same sign or the layout cannot be built. */
function root(of: (x: number) => number, low: number, high: number): number | null {
  try {
    return bracketedRoot({ of, low, high, tolerance: 1e-7 * (high - low) });
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}
