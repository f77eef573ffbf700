import type { Spacer, Station } from '../../station/index.js';
import { temperatureShiftsDpt } from '../power-tolerance.js';
import { leverMm, type ObjectPlane, type PairOptics, sensorPowerPerMm } from './pair-optics.js';
import { nearestRingMm, threeDigits } from './search-space.js';

/** A spacer and a ring setting behind a pair of lenses, with what they make of the reach. */
export interface PlacedSetting {
  spacerIndex: number;
  /** Place in the list of ring settings; the last one centres the task. */
  ringIndex: number;
  ringDistanceMm: number | null;
  /** From the fixed lens's rear principal plane. */
  sensorMm: number;
  leverMm: number;
  reachNear: number;
  reachFar: number;
  /** Largest and smallest over the planes. */
  largestMagnification: number;
  smallestMagnification: number;
}

/**
 * Every spacer and ring setting of a pair, with its reach.
 *
 * Model    as reachOf: spare power at near and far, less twice the standard deviation over built stations and the drift,
 *          over the lens's range. At least as large as the margin of the full prediction
 * Returns  settings that form an image; `absentCount` of those that do not exist: a centring ring distance that the
 *          ring does not reach
 */
export function placedSettings({
  station,
  optics,
  spacers,
  rings,
}: {
  station: Station;
  optics: PairOptics;
  spacers: readonly { spacer: Spacer; spacerIndex: number }[];
  rings: readonly (number | null)[];
}): { settings: PlacedSetting[]; absentCount: number } {
  const settings: PlacedSetting[] = [];
  const reach = reachOfPair(station, optics);
  const heights = optics.planes.map(({ heightMm }) => Math.abs(heightMm));
  const lowest = Math.min(...heights);
  const highest = Math.max(...heights);
  let absentCount = 0;
  for (const { spacer, spacerIndex } of spacers) {
    const centring = centringRingMm(station, optics, spacer.lengthMm);
    for (let ringIndex = 0; ringIndex <= rings.length; ringIndex++) {
      const ringDistanceMm = ringIndex < rings.length ? rings[ringIndex]! : centring;
      if (ringDistanceMm === undefined) {
        absentCount++;
        continue;
      }
      const sensorMm = imageMm(optics.model.fixedLens.focalLengthMm, ringDistanceMm) + spacer.lengthMm;
      const lever = leverMm(optics.after, sensorMm);
      settings.push({
        spacerIndex,
        ringIndex,
        ringDistanceMm,
        sensorMm,
        leverMm: lever,
        ...reach(sensorMm, ringDistanceMm, spacer),
        largestMagnification: Math.abs(lever) / lowest,
        smallestMagnification: Math.abs(lever) / highest,
      });
    }
  }
  return { settings, absentCount };
}

/** From the rear principal plane to the image of an object at the ring distance. */
const imageMm = (focalLengthMm: number, ringDistanceMm: number | null): number =>
  ringDistanceMm === null ? focalLengthMm : (focalLengthMm * ringDistanceMm) / (ringDistanceMm - focalLengthMm);

function reachOfPair(station: Station, optics: PairOptics) {
  const { fixedLens, tunableLens } = station.parts;
  const { powerMinDpt, powerMaxDpt, tolerance } = tunableLens;
  const rangeDpt = powerMaxDpt - powerMinDpt;
  const driftDpt = Math.max(...temperatureShiftsDpt(station).map(Math.abs));
  const { after, longer, near, far, model } = optics;
  const f = model.fixedLens.focalLengthMm;
  const nearIsHigher = near.slopePerMm >= far.slopePerMm;
  const longerPlanes = longer && {
    near: (longer.before.c * near.distanceMm + longer.before.d) / (longer.before.a * near.distanceMm + longer.before.b),
    far: (longer.before.c * far.distanceMm + longer.before.d) / (longer.before.a * far.distanceMm + longer.before.b),
  };

  return (sensorMm: number, ringMm: number | null, spacer: Spacer): { reachNear: number; reachFar: number } => {
    const perMm = sensorPowerPerMm(after, sensorMm);
    const bySpacer = sensorPowerPerMm(after, sensorMm + spacer.tolerance.lengthMm) - perMm;
    const turnedMm = ringMm === null ? null : ringMm * (1 + fixedLens.tolerance.ringDistanceRelative);
    const byRing = turnedMm === null ? 0 : sensorPowerPerMm(after, imageMm(f, turnedMm) + spacer.lengthMm) - perMm;
    const longerPerMm =
      longer === null
        ? 0
        : sensorPowerPerMm(longer.after, imageMm(longer.model.fixedLens.focalLengthMm, ringMm) + spacer.lengthMm) -
          perMm;
    const marginAt = (plane: ObjectPlane, longerSlope: number | undefined, high: boolean) => {
      const powerDpt = 1000 * (perMm + plane.slopePerMm);
      const byFocalLength = longerSlope === undefined ? 0 : longerPerMm + longerSlope - plane.slopePerMm;
      const buildStdDpt = Math.hypot(
        tolerance.offsetDpt,
        tolerance.gainRelative * powerDpt,
        1000 * bySpacer,
        1000 * byRing,
        1000 * byFocalLength,
      );
      const spareDpt = high ? powerMaxDpt - powerDpt : powerDpt - powerMinDpt;
      const margin = (spareDpt - 2 * buildStdDpt - driftDpt) / rangeDpt;
      return Number.isFinite(margin) ? margin : Number.NEGATIVE_INFINITY;
    };
    return {
      reachNear: marginAt(near, longerPlanes?.near, nearIsHigher),
      reachFar: marginAt(far, longerPlanes?.far, !nearIsHigher),
    };
  };
}

/** Ring distance, to three digits, that brings the task to the middle of the powers; undefined where the ring has none. */
function centringRingMm(
  { parts: { tunableLens, fixedLens } }: Station,
  { after, near, far, model }: PairOptics,
  spacerMm: number,
): number | undefined {
  const middleDpt = (tunableLens.powerMinDpt + tunableLens.powerMaxDpt) / 2;
  const perMm = middleDpt / 1000 - (near.slopePerMm + far.slopePerMm) / 2;
  const imageAtMm = (perMm * after.b - after.a) / (after.c - perMm * after.d) - spacerMm;
  const f = model.fixedLens.focalLengthMm;
  const ringMm = (f * imageAtMm) / (imageAtMm - f);
  return imageAtMm > f && ringMm >= nearestRingMm(fixedLens) && ringMm <= 100_000 ? threeDigits(ringMm) : undefined;
}
