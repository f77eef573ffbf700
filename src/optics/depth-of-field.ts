import { mmFromNm, requirePositive, umFromMm } from '../base/index.js';
import type { LayoutModel } from './layout-model.js';
import { focalPowerAt, workingDistanceAt } from './power-distance.js';
import { type PupilView, pupilView } from './pupil-view.js';

/** By what a plane counts as sharp. */
export type SharpnessCriterion = 'blur-disc' | 'quarter-wave' | 'contrast';

/** A range of distances that is sharp by one criterion while the focal power stays. */
export interface DepthOfField {
  kind: 'depth';
  criterion: SharpnessCriterion;
  /** Working distance of the near limit. */
  nearMm: number;
  /** Working distance of the far limit; null = infinity. */
  farMm: number | null;
  /** far − near; null where it reaches infinity. */
  totalMm: number | null;
  /** Change of focal power that would make the near limit sharp: how far the power may be off before it blurs the plane. */
  nearHalfWidthDpt: number;
  farHalfWidthDpt: number;
}

/**
 * Depth of field by the blur disc on the sensor.
 *
 * Model    paraxial, geometric: exact blur through the entrance pupil; diffraction left out
 * Formula  blur = |m|·D·|s − s0| / s, distances from the pupil; so 1/s_near,far = 1/s0 ± c / (|m|·s0·D)
 * Returns  see DepthOfField.
 * Throws   RangeError naming the field, if the power focuses no real object, or the near limit passes the front.
 * Trust    optimistic where c nears the Airy diameter (airyRadiusUm × 2).
 * Source   docs/optics/depth-of-field.md
 * Checked  reference: thin lens, the four cases of references/tables/depth-of-field.json, tests/optics/depth-of-field.test.ts
 */
export function blurDiscDepthOfField({
  model,
  focalPowerDpt,
  blurDiameterUm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  /** Largest allowed blur disc on the sensor. */
  blurDiameterUm: number;
}): DepthOfField {
  requirePositive('blurDiameterUm', blurDiameterUm, 'µm');
  const view = sharpPupilView({ model, focalPowerDpt });
  const half = blurDiameterUm / umFromMm(view.imageScaleMm * view.diameterMm);
  return depthBetween({ model, focalPowerDpt, view, nearPerMm: half, farPerMm: half, criterion: 'blur-disc' });
}

/**
 * Depth of field by Rayleigh's quarter wave of defocus at the pupil's edge.
 *
 * Model    paraxial; the lens is free of other aberration
 * Formula  (D/2)²·|1/s − 1/s0| / 2 = λ/4, distances from the pupil
 * Returns  see DepthOfField. At the limits the Strehl ratio is 0.81.
 * Throws   RangeError naming the field, if the power focuses no real object, or the near limit passes the front.
 * Trust    strict where pixels are much wider than the Airy disc: the blur of a quarter wave is then not seen.
 * Source   criterion: Smith, Modern Optical Engineering 11.6.1
 * Checked  closed form: ±2·λ·N² at the sensor; pupil 10 mm, 550 nm → 0.0110 dpt
 */
export function quarterWaveDepthOfField({
  model,
  focalPowerDpt,
  wavelengthNm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  wavelengthNm: number;
}): DepthOfField {
  requirePositive('wavelengthNm', wavelengthNm, 'nm');
  const view = sharpPupilView({ model, focalPowerDpt });
  const half = (2 * mmFromNm(wavelengthNm)) / view.diameterMm ** 2;
  return depthBetween({ model, focalPowerDpt, view, nearPerMm: half, farPerMm: half, criterion: 'quarter-wave' });
}

/** The pupil's view at a power that focuses a real object; throws RangeError for one that does not. */
export function sharpPupilView({ model, focalPowerDpt }: { model: LayoutModel; focalPowerDpt: number }): PupilView {
  const focus = workingDistanceAt({ model, focalPowerDpt });
  if (focus.kind !== 'real') {
    throw new RangeError(
      `focalPowerDpt is ${focalPowerDpt} dpt, which focuses ${focus.kind}; allowed: a power that focuses a real object`,
    );
  }
  return pupilView({ model, focalPowerDpt });
}

/** Turns limits given as changes of vergence at the entrance pupil into distances and powers. */
export function depthBetween({
  model,
  focalPowerDpt,
  view,
  nearPerMm,
  farPerMm,
  criterion,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  view: PupilView;
  /** Change of 1/s to the near limit, ≥ 0. */
  nearPerMm: number;
  farPerMm: number;
  criterion: SharpnessCriterion;
}): DepthOfField {
  const distanceAt = (vergencePerMm: number) => view.beforeFirstPlaneMm + 1 / vergencePerMm - model.frontOffsetMm;
  const sharp = view.focusVergencePerMm;
  const pastPupil = sharp < 0 && sharp + nearPerMm >= 0;
  const nearMm = distanceAt(sharp + nearPerMm);
  if (pastPupil || nearMm < 0) {
    throw new RangeError(
      `the ${criterion} limit puts the near end of the depth of field behind the front of the optics; allowed: a stricter limit`,
    );
  }
  const farVergencePerMm = sharp - farPerMm;
  const farMm = sharp > 0 && farVergencePerMm <= 0 ? null : distanceAt(farVergencePerMm);
  const powerOff = (vergencePerMm: number) => Math.abs(powerAtVergence({ model, view, vergencePerMm }) - focalPowerDpt);
  return {
    kind: 'depth',
    criterion,
    nearMm,
    farMm,
    totalMm: farMm === null ? null : farMm - nearMm,
    nearHalfWidthDpt: powerOff(sharp + nearPerMm),
    farHalfWidthDpt: powerOff(farVergencePerMm),
  };
}

/** Power that makes a vergence at the pupil sharp, also one beyond infinity. */
function powerAtVergence({
  model,
  view,
  vergencePerMm,
}: {
  model: LayoutModel;
  view: PupilView;
  vergencePerMm: number;
}): number {
  const workingDistanceMm =
    vergencePerMm === 0 ? null : view.beforeFirstPlaneMm + 1 / vergencePerMm - model.frontOffsetMm;
  const power = focalPowerAt({ model, workingDistanceMm });
  if (power.kind === 'none')
    throw new RangeError(`no focal power focuses a limit of the depth of field: ${power.reason}`);
  return power.focalPowerDpt;
}
