import { normalProbabilityWithin } from '../../base/index.js';
import { greyValueStatistics, type LayoutModel } from '../../optics/index.js';
import {
  type AutofocusPrediction,
  type FocusSearchPrediction,
  powerLimitsOf,
  type Station,
  sensorNoiseModelOf,
  whitePhotonsPerPixel,
} from '../../station/index.js';
import { frameAfterMoveMs, plainSettlingMs, settledToleranceDpt } from '../lens-move.js';
import type { PlannedPlane } from '../planned-plane.js';
import { focusInformationPerDpt2, type SceneRing, sceneRings } from './focus-information.js';
import { probedRings } from './probed-rings.js';

const regionPx = 256;
/** Probes of a three-frame search lie this many half-widths apart. */
const probeSpacing = 2;
/** A sweep looks at nine powers over this many half-widths either way, as the fine sweep of the autofocus does. */
const sweepReach = 1.5;
const sweepPowers = 9;

/**
 * How well autofocus can do at one plane: three probes, and a sweep.
 *
 * Model    Cramér–Rao bound of focusInformationPerDpt2 on a region of 256 × 256 pixels; texture of the task's rms contrast
 *          about half of white, power 1/f^α; temporal noise by EMVA 1288. Best focus at an end of the probes, where
 *          they tell it worst. The lens then goes to it with its repeatability and control step
 * Returns  null where the plane has no power or no depth of field. Probes stay inside the station's limits; where the
 *          frames tell nothing, the bound is the whole range of powers.
 * Trust    a bound: aberrations that the model does not know, a moving scene or several depths in the region cost more.
 * Source   docs/planning/autofocus-prediction.md
 * Checked  recovery and reference: tests/planning/focus-information.test.ts, predict-autofocus.test.ts
 */
export function predictAutofocus({
  station,
  model,
  plane,
}: {
  station: Station;
  model: LayoutModel;
  plane: PlannedPlane;
}): AutofocusPrediction | null {
  const { name, workingDistanceMm, neededPowerDpt } = plane.prediction;
  if (neededPowerDpt === null || !(plane.allowedHalfWidthDpt > 0)) return null;
  const contrastToNoiseRatio = textureToNoise(station, plane);
  const rings = sceneRings({ regionPx, contrastToNoiseRatio, spectrumExponent: station.task.texture.spectrumExponent });
  const predict = (search: FocusSearchPrediction['name'], count: number, spacingDpt: number) => {
    const probesDpt = probesAbout({ station, centreDpt: neededPowerDpt, count, spacingDpt });
    return predictSearch({ station, model, plane, rings, name: search, probesDpt });
  };
  const half = plane.allowedHalfWidthDpt;
  return {
    plane: name,
    workingDistanceMm,
    regionPx,
    contrastToNoiseRatio,
    searches: [
      predict('three-probes', 3, probeSpacing * half),
      predict('sweep', sweepPowers, (2 * sweepReach * half) / (sweepPowers - 1)),
    ],
  };
}

/** Standard deviation of the texture over the temporal noise of a pixel, at half of white. */
function textureToNoise(station: Station, { irradianceRatio: relativeIrradiance }: PlannedPlane): number {
  const sensor = sensorNoiseModelOf(station);
  const { exposureMs } = station.controls;
  const photons = whitePhotonsPerPixel({ station, relativeIrradiance }) / 2;
  const { meanDn, temporalStdDn } = greyValueStatistics({ sensor, photons, exposureMs });
  return (station.task.texture.rmsContrast * (meanDn - sensor.darkOffsetDn)) / temporalStdDn;
}

/** Evenly spaced powers about a centre, moved, and closed up if need be, into the station's limits. */
function probesAbout({
  station,
  centreDpt,
  count,
  spacingDpt,
}: {
  station: Station;
  centreDpt: number;
  count: number;
  spacingDpt: number;
}): number[] {
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const half = Math.min(((count - 1) * spacingDpt) / 2, (powerMaxDpt - powerMinDpt) / 2);
  const centre = Math.min(powerMaxDpt - half, Math.max(powerMinDpt + half, centreDpt));
  return Array.from({ length: count }, (_, i) => centre - half + (2 * half * i) / (count - 1));
}

function predictSearch({
  station,
  model,
  plane,
  rings,
  name,
  probesDpt,
}: {
  station: Station;
  model: LayoutModel;
  plane: PlannedPlane;
  rings: readonly SceneRing[];
  name: FocusSearchPrediction['name'];
  probesDpt: number[];
}): FocusSearchPrediction {
  const { workingDistanceMm, neededPowerDpt } = plane.prediction;
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const rangeDpt = powerMaxDpt - powerMinDpt;
  const reachDpt = (probesDpt.at(-1)! - probesDpt[0]!) / 2;
  // Best focus at an end of the probes is the same as all probes moved to one side of it.
  const atEnd = probesDpt.map((probeDpt) => probeDpt + reachDpt);
  const seen = probedRings({ station, model, rings, workingDistanceMm, probesDpt: atEnd });
  const boundStdDpt = Math.min(rangeDpt, 1 / Math.sqrt(focusInformationPerDpt2(seen)));
  const { repeatabilityDpt, controlStepDpt } = station.parts.tunableLens;
  const finalStdDpt = Math.hypot(boundStdDpt, repeatabilityDpt, controlStepDpt / Math.sqrt(12));
  const half = plane.allowedHalfWidthDpt;
  return {
    name,
    probesDpt,
    boundStdDpt,
    finalStdDpt,
    insideProbability: normalProbabilityWithin({ low: -half, high: half, std: finalStdDpt }),
    timeMs: searchTimeMs({ station, plane, probesDpt, bestDpt: neededPowerDpt! }),
  };
}

/** From the park power over the evenly spaced probes to best focus, a frame at each, and one that confirms. */
function searchTimeMs({
  station,
  plane,
  probesDpt,
  bestDpt,
}: {
  station: Station;
  plane: PlannedPlane;
  probesDpt: readonly number[];
  bestDpt: number;
}): number | null {
  const toleranceDpt = settledToleranceDpt(station, plane.allowedHalfWidthDpt);
  const frameMs = (fromDpt: number, toDpt: number) =>
    frameAfterMoveMs(station, plainSettlingMs(station, { fromDpt, toDpt, toleranceDpt }));
  const firstMs = frameMs(station.controls.parkPowerDpt, probesDpt[0]!);
  const nextMs = frameMs(probesDpt[0]!, probesDpt[1]!);
  const confirmMs = frameMs(probesDpt.at(-1)!, bestDpt);
  if (firstMs === null || nextMs === null || confirmMs === null) return null;
  return firstMs + (probesDpt.length - 1) * nextMs + confirmMs;
}
