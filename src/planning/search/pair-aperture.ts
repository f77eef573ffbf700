import { circleOverlapArea } from '../../optics/index.js';
import { leverMm, type ObjectPlane, type PairOptics, sensorPowerPerMm } from './pair-optics.js';

/** A stop as the focused sensor sees it: matrix elements from the stop to the sensor. */
interface SeenStop {
  radiusMm: number;
  /** Element b, in mm, and d of the matrix from the stop to the sensor. */
  b: number;
  d: number;
}

/** The cone of one plane in focus, at one f-number. */
export interface PairAperture {
  workingFNumber: number;
  limitedByTunable: boolean;
  stops: { limiting: SeenStop; other: SeenStop };
}

/**
 * Working f-number and stops of a focused plane.
 *
 * Model    as traceSystem, in focus: total matrix a = m, b = −m·x, so that the fixed lens's stop behind an image-side
 *          lens is known without the power
 * Checked  property: equal to traceSystem and fieldIllumination, tests/planning/search/bounds.test.ts
 */
export function pairAperture(optics: PairOptics, sensorMm: number, plane: ObjectPlane, fNumber: number): PairAperture {
  const { model, after, before } = optics;
  const lever = leverMm(after, sensorMm);
  const tunable = { radiusMm: model.clearApertureMm / 2, b: lever, d: after.d };
  const pupilRadiusMm = model.fixedLens.focalLengthMm / (2 * fNumber);
  const fixed = fixedStop(sensorMm, plane, pupilRadiusMm);
  const ofFixed = Math.abs(fixed.b) / (2 * fixed.radiusMm);
  const ofTunable = Math.abs(tunable.b) / (2 * tunable.radiusMm);
  const limitedByTunable = ofTunable > ofFixed;
  return {
    workingFNumber: Math.max(ofFixed, ofTunable),
    limitedByTunable,
    stops: limitedByTunable ? { limiting: tunable, other: fixed } : { limiting: fixed, other: tunable },
  };

  function fixedStop(sensor: number, at: ObjectPlane, radiusMm: number): SeenStop {
    const before0Mm = pupilBeforeLensMm(optics);
    if (model.tunableLensAt === 'object-side') {
      const shiftMm = before0Mm - model.gapMm;
      return { radiusMm, b: lever + (after.a + after.c * sensor) * shiftMm, d: after.d + after.c * shiftMm };
    }
    if (model.tunableLensAt === 'at-stop') return { radiusMm: radiusMm * Math.abs(before.a), b: lever, d: after.d };
    const magnification = -lever / at.heightMm;
    const powerPerMm = sensorPowerPerMm(after, sensor) + at.slopePerMm;
    const totalC = after.c * before.a + after.d * (before.c - powerPerMm * before.a);
    const shiftMm = before0Mm - at.distanceMm;
    return { radiusMm, b: magnification * shiftMm, d: 1 / magnification + totalC * shiftMm };
  }
}

/** From the fixed lens's entrance pupil back to its front principal plane, negative where it lies before. */
export const pupilBeforeLensMm = ({ model: { fixedLens } }: PairOptics): number =>
  fixedLens.focalLengthMm * (1 - 1 / fixedLens.pupilMagnification);

/** Light at an image height relative to the axis; see fieldIllumination. */
export function cornerShare({ stops: { limiting, other } }: PairAperture, imageHeightMm: number): number {
  const radius = limiting.radiusMm / Math.abs(limiting.b);
  const centre = (limiting.d * imageHeightMm) / limiting.b;
  const cosine4 = 1 / (1 + centre * centre) ** 2;
  if (other.b === 0) return cosine4;
  const area = circleOverlapArea(
    radius,
    other.radiusMm / Math.abs(other.b),
    centre - (other.d * imageHeightMm) / other.b,
  );
  return (cosine4 * area) / (Math.PI * radius * radius);
}

/** Entrance pupil of a focused plane: diameter, and its place before the first optical plane. */
export function pairPupil(
  optics: PairOptics,
  sensorMm: number,
  plane: ObjectPlane,
  { stops, limitedByTunable }: PairAperture,
): { diameterMm: number; beforeFirstPlaneMm: number } {
  const { before, model } = optics;
  const { radiusMm } = stops.limiting;
  const reduced = (a: number, b: number) => ({ diameterMm: (2 * radiusMm) / Math.abs(a), beforeFirstPlaneMm: -b / a });
  if (limitedByTunable || model.tunableLensAt === 'at-stop') return reduced(before.a, before.b);
  const pupilMm = pupilBeforeLensMm(optics);
  if (model.tunableLensAt === 'image-side') return reduced(1, -pupilMm);
  const gapMm = model.gapMm - pupilMm;
  return reduced(1 - gapMm * (sensorPowerPerMm(optics.after, sensorMm) + plane.slopePerMm), gapMm);
}
