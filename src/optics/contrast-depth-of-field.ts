import { mmFromNm, requireNumber, requirePositive } from '../base/index.js';
import { bracketedRoot } from './bracketed-root.js';
import { type DepthOfField, depthBetween, sharpPupilView } from './depth-of-field.js';
import { normalisedFrequency } from './diffraction.js';
import type { LayoutModel } from './layout-model.js';
import type { PupilView } from './pupil-view.js';
import { type BlurStages, systemOtf } from './system-mtf.js';

/** No distance is sharp enough: even in focus the contrast stays below the threshold. */
export interface NoDepthOfField {
  kind: 'none';
  criterion: 'contrast';
  contrastInFocus: number;
  reason: string;
}

/** Marching steps per half period of the fastest ripple of contrast over defocus. */
const stepsPerRipple = 8;
const maxSteps = 4000;

/**
 * Depth of field by contrast: how far from focus the system's contrast at one frequency stays at or above a threshold.
 *
 * Model    signed system OTF at each distance, out to its first crossing on either side; magnification followed, so
 *          that the limits are asymmetric and a fixed detail on the object falls on a finer image farther away
 * Formula  OTF(ν·λ·N_w, W20(s))·stages ≥ threshold;  W20 = (D/2)²·(1/s − 1/s0) / (2·λ)
 * Returns  see DepthOfField; `none` with the contrast in focus where that misses the threshold.
 * Throws   RangeError naming the field, if the power focuses no real object, the threshold is outside (0, 1), or the
 *          near limit passes the front.
 * Trust    a dip below the threshold narrower than a sixteenth of a ripple may be stepped over. Spherical aberration
 *          moves the sharpest plane off the paraxial one: give `sphericalWaves` only with this in mind.
 * Source   docs/optics/depth-of-field.md
 * Checked  closed form: threshold = contrast at the limits found; property: wider threshold, deeper field
 */
export function contrastDepthOfField({
  model,
  focalPowerDpt,
  spatialFrequencyPerMm,
  frequencyOn,
  contrastThreshold,
  ...stages
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  /** In line pairs per mm on the object or on the sensor, as `frequencyOn` says. */
  spatialFrequencyPerMm: number;
  frequencyOn: 'object' | 'sensor';
  contrastThreshold: number;
} & BlurStages): DepthOfField | NoDepthOfField {
  requirePositive('spatialFrequencyPerMm', spatialFrequencyPerMm, 'lp/mm');
  requireNumber('contrastThreshold', contrastThreshold, { above: 0, below: 1 });
  const view = sharpPupilView({ model, focalPowerDpt });
  const wavesPerVergenceMm = (view.diameterMm / 2) ** 2 / (2 * mmFromNm(stages.wavelengthNm));
  const frequencyAt = (changePerMm: number) =>
    frequencyOn === 'sensor'
      ? spatialFrequencyPerMm
      : spatialFrequencyPerMm / (view.imageScaleMm * vergenceNotZero(view, changePerMm));
  const point = { ...stages, spatialFrequencyPerMm, workingFNumber: view.workingFNumber, defocusWaves: 0 };
  const contrastAt = (changePerMm: number) => {
    point.spatialFrequencyPerMm = frequencyAt(changePerMm);
    point.defocusWaves = wavesPerVergenceMm * changePerMm;
    return systemOtf(point);
  };
  const contrastInFocus = contrastAt(0);
  if (contrastInFocus < contrastThreshold) {
    const reason = `in focus the contrast is ${contrastInFocus.toPrecision(3)}, below the threshold of ${contrastThreshold}`;
    return { kind: 'none', criterion: 'contrast', contrastInFocus, reason };
  }
  const rippleStep = (changePerMm: number) => {
    const s = normalisedFrequency({
      spatialFrequencyPerMm: frequencyAt(changePerMm),
      wavelengthNm: stages.wavelengthNm,
      workingFNumber: view.workingFNumber,
    });
    const inside = Math.min(0.98, Math.max(0.02, s));
    return 1 / (8 * inside * (1 - inside) * stepsPerRipple * wavesPerVergenceMm);
  };
  const search = {
    above: (change: number) => contrastAt(change) - contrastThreshold,
    atZero: contrastInFocus - contrastThreshold,
    step: rippleStep,
  };
  const nearPerMm = firstCrossing({ ...search, direction: 1, end: nearEndPerMm(model, view) });
  const farPerMm = firstCrossing({ ...search, direction: -1, end: farEndPerMm(view) });
  return depthBetween({ model, focalPowerDpt, view, nearPerMm, farPerMm, criterion: 'contrast' });
}

/** |1/s|, held off zero: at infinity a detail of fixed size on the object has an image finer than any cutoff. */
function vergenceNotZero(view: PupilView, changePerMm: number): number {
  const sharp = Math.abs(view.focusVergencePerMm);
  return Math.max(Math.abs(view.focusVergencePerMm + changePerMm), 1e-9 * sharp);
}

/** Change of vergence that leads from the sharp plane to just behind the front of the optics. */
function nearEndPerMm(model: LayoutModel, view: PupilView): number {
  const frontPerMm = 1 / (model.frontOffsetMm - view.beforeFirstPlaneMm);
  const change = 1.001 * (frontPerMm - view.focusVergencePerMm);
  return change > 0 && Number.isFinite(change) ? change : Number.MAX_VALUE;
}

/** Change of vergence that leads from the sharp plane to infinity; without end where the pupil lies before the object. */
function farEndPerMm(view: PupilView): number {
  return view.focusVergencePerMm > 0 ? view.focusVergencePerMm : Number.MAX_VALUE;
}

/** Marches from 0 to `end` until `above` turns negative and refines. Returns the change, ≥ 0; `end` if none crosses. */
function firstCrossing({
  above,
  atZero,
  step,
  direction,
  end,
}: {
  above: (change: number) => number;
  /** `above` at 0. */
  atZero: number;
  step: (change: number) => number;
  direction: 1 | -1;
  end: number;
}): number {
  let inside = 0;
  let lowValue = atZero;
  for (let count = 0; count < maxSteps && inside < end; count++) {
    const next = Math.min(end, inside + step(direction * inside));
    const highValue = above(direction * next);
    if (highValue < 0) {
      const bracket = { low: inside, high: next, lowValue, highValue };
      return bracketedRoot({ of: (x) => above(direction * x), ...bracket, tolerance: 1e-8 * next });
    }
    inside = next;
    lowValue = highValue;
  }
  if (inside < end) {
    throw new RangeError(
      `contrastThreshold is not crossed within ${maxSteps} steps; allowed: a higher threshold or frequency`,
    );
  }
  return end;
}
