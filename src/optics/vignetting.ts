import { requireFinite } from '../base/index.js';
import { type Aperture, layoutMatrices } from './layout-matrices.js';
import type { LayoutModel } from './layout-model.js';
import { limitingAperture } from './pupils.js';

/** Light at a place on the sensor, relative to its centre. */
export interface FieldIllumination {
  /** Share of the cone that passes both stops, 0 … 1. */
  unvignettedShare: number;
  /** unvignettedShare × cos⁴ of the chief ray's angle at the sensor. */
  relativeIllumination: number;
  /** Of the chief ray through the limiting stop, in image space. */
  chiefRayAngleDeg: number;
}

/**
 * Relative illumination of an image point off the axis.
 *
 * Model    two stops, fixed lens and tunable lens, as circles seen from the image point; evenly bright object
 * Formula  overlap of the circles / the smaller, times cos⁴ θ'. In slopes at the sensor the circle of a stop has its
 *          centre at n.d·h/n.b and the radius R/|n.b|
 * Returns  see FieldIllumination.
 * Throws   RangeError naming the field of a layout that cannot be built, or a height that is not finite.
 * Trust    the fixed lens's own mechanical vignetting is not in it: take that from its datasheet.
 * Source   docs/optics/pupils.md
 * Checked  closed form: two equal circles; property: 1 on axis, falls outwards, tests/optics/vignetting.test.ts
 */
export function fieldIllumination({
  model,
  focalPowerDpt,
  imageHeightMm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  /** Distance of the image point from the sensor's centre. */
  imageHeightMm: number;
}): FieldIllumination {
  const { chiefSlope, otherStop } = fieldPupil({ model, focalPowerDpt, imageHeightMm });
  const share = otherStop === null ? 1 : circleOverlapArea(1, otherStop.radiusRatio, otherStop.offsetRatio) / Math.PI;
  const angle = Math.atan(chiefSlope);
  return {
    unvignettedShare: share,
    relativeIllumination: share * Math.cos(angle) ** 4,
    chiefRayAngleDeg: (angle * 180) / Math.PI,
  };
}

/** The pupil as an image point off the axis sees it, in radii of the limiting stop. */
export interface FieldPupil {
  /** Slope of the ray through the middle of the limiting stop, at the sensor. */
  chiefSlope: number;
  /** Of the cone on the axis. */
  workingFNumber: number;
  /** The other stop: its radius, and how far its middle lies off, outwards positive; null where it cuts nothing. */
  otherStop: { radiusRatio: number; offsetRatio: number } | null;
}

/**
 * Which part of the pupil an image point off the axis is lit by.
 *
 * Model    both stops as circles of slopes at the image point; see fieldIllumination
 * Throws   RangeError naming the field of a layout that cannot be built, or a height that is not finite.
 * Checked  reference: Monte Carlo rays, tests/optics/reference-random-layouts.test.ts
 */
export function fieldPupil({
  model,
  focalPowerDpt,
  imageHeightMm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  imageHeightMm: number;
}): FieldPupil {
  requireFinite('imageHeightMm', imageHeightMm, 'mm');
  const { stop, other } = limitingAperture(layoutMatrices({ model, focalPowerDpt }));
  const chief = circleInSlopes(stop, imageHeightMm)!;
  const second = circleInSlopes(other, imageHeightMm);
  return {
    chiefSlope: chief.centre,
    workingFNumber: 1 / (2 * chief.radius),
    otherStop: second && {
      radiusRatio: second.radius / chief.radius,
      offsetRatio: (second.centre - chief.centre) / chief.radius,
    },
  };
}

/**
 * Radius of the image circle on the sensor that no stop cuts.
 *
 * Formula  h = (r_other − r_limiting) / |n.d/n.b of one − n.d/n.b of the other|
 * Returns  mm; null where both stops are concentric seen from everywhere, so that nothing is cut.
 * Throws   RangeError naming the field of a layout that cannot be built.
 */
export function unvignettedImageRadiusMm({
  model,
  focalPowerDpt,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
}): number | null {
  const { stop, other } = limitingAperture(layoutMatrices({ model, focalPowerDpt }));
  const inner = circleInSlopes(stop, 1)!;
  const outer = circleInSlopes(other, 1);
  if (outer === null || outer.centre === inner.centre) return null;
  return (outer.radius - inner.radius) / Math.abs(outer.centre - inner.centre);
}

/** A stop as the slopes of rays that reach an image point through it; null for a stop imaged on the sensor. */
function circleInSlopes(
  { toSensor, radiusMm }: Aperture,
  imageHeightMm: number,
): { centre: number; radius: number } | null {
  if (toSensor.b === 0) return null;
  return { centre: (toSensor.d * imageHeightMm) / toSensor.b, radius: radiusMm / Math.abs(toSensor.b) };
}

/**
 * Area common to two circles.
 *
 * Formula  two circular segments on the common chord; 0 apart, the smaller circle inside the larger
 * Checked  closed form: equal circles at half and full radius distance, tests/optics/vignetting.test.ts
 */
export function circleOverlapArea(firstRadius: number, secondRadius: number, distance: number): number {
  const d = Math.abs(distance);
  const small = Math.min(firstRadius, secondRadius);
  const large = Math.max(firstRadius, secondRadius);
  if (d >= small + large) return 0;
  if (d <= large - small) return Math.PI * small ** 2;
  const toChordSmall = (d * d + small * small - large * large) / (2 * d);
  const toChordLarge = d - toChordSmall;
  return circularSegmentArea(small, toChordSmall) + circularSegmentArea(large, toChordLarge);
}

function circularSegmentArea(radius: number, chordDistance: number): number {
  const cosine = Math.min(1, Math.max(-1, chordDistance / radius));
  return radius ** 2 * Math.acos(cosine) - chordDistance * radius * Math.sqrt(Math.max(0, 1 - cosine * cosine));
}
