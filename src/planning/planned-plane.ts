import { perMmFromPerPx, perPxFromPerMm } from '../base/index.js';
import {
  fieldIllumination,
  focalPowerAt,
  type LayoutModel,
  systemMtf,
  type TracedSystem,
  traceSystem,
  workingDistanceAt,
} from '../optics/index.js';
import {
  fieldOfViewMm,
  type PlanePrediction,
  powerLimitsOf,
  type Station,
  sharpnessStagesOf,
  type TaskPlane,
  taskFrequencyPerMm,
} from '../station/index.js';
import { cornerHeightMm, worseMtfAt } from './corner-mtf.js';
import { finestFrequency } from './finest-frequency.js';
import { mtfPartsOf } from './mtf-parts.js';
import { planeDepth } from './plane-depth.js';
import { predictedLight } from './plane-light.js';

/** A plane of the task as the layout sees it, with what the rows of the ledger need beside the prediction. */
export interface PlannedPlane {
  prediction: PlanePrediction;
  /** How far the power may be off; see planeDepth. */
  allowedHalfWidthDpt: number;
  /** How far the sharp plane moves per change of power, at this plane. */
  distancePerPowerMmPerDpt: number;
  /** Light in the corner of the sensor relative to its centre. */
  cornerIllumination: number;
  /** On-axis beam where it passes the tunable lens. */
  tunableBeamDiameterMm: number;
  /** White target's grey value with three standard deviations, and where the sensor saturates. */
  whitePeakDn: number;
  saturationDn: number;
  motionBlurPx: number;
  /** Light on the sensor relative to the middle of the range. */
  irradianceRatio: number;
  /** Why no power at all focuses this plane; null where one does. */
  noPower: string | null;
}

/**
 * Everything the layout does with an object at one distance, in focus.
 *
 * Model    at the power that focuses the distance, also one outside the limits: `neededPowerDpt` tells. Where no power
 *          does, all values are 0
 * Returns  finite numbers only.
 */
export function plannedPlane({
  station,
  model,
  plane,
  middleFNumber,
}: {
  station: Station;
  model: LayoutModel;
  plane: TaskPlane;
  /** Working f-number where the light was stated: at the middle of the range. */
  middleFNumber: number | null;
}): PlannedPlane {
  const needed = focalPowerAt({ model, workingDistanceMm: plane.workingDistanceMm });
  if (needed.kind === 'none') return unfocusablePlane(plane, needed.reason);
  const { focalPowerDpt: neededPowerDpt } = needed;
  const system = traceSystem({ model, focalPowerDpt: neededPowerDpt });
  const magnification = Math.abs(system.magnification);
  if (system.focus.kind !== 'real' || magnification === 0) {
    return unfocusablePlane(plane, 'the layout images no object at this distance');
  }
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const inside = neededPowerDpt >= powerMinDpt && neededPowerDpt <= powerMaxDpt;
  const frequencyPerMm = taskFrequencyPerMm({ station, magnification });
  const stages = sharpnessStagesOf({ station, model, focalPowerDpt: neededPowerDpt, magnification, moving: true });
  const { parts: mtfParts, mtfAtTask } = mtfPartsOf({ frequencyPerMm, workingFNumber: system.workingFNumber, stages });
  const { sensor } = station.parts;
  const depth = planeDepth({ station, model, system, stages, frequencyPerMm, focalPowerDpt: neededPowerDpt });
  const relativeIrradiance = middleFNumber === null ? 1 : (middleFNumber / system.workingFNumber) ** 2;
  const { meanGreyDn, signalToNoise, whitePeakDn, saturationDn } = predictedLight({ station, relativeIrradiance });
  const at = { model, focalPowerDpt: neededPowerDpt, imageHeightMm: cornerHeightMm(station) };
  const cornerMtfAtTask = worseMtfAt({ ...at, spatialFrequencyPerMm: frequencyPerMm, stages });
  const inFocus = { ...stages, spatialFrequencyPerMm: 0, workingFNumber: system.workingFNumber, defocusWaves: 0 };
  const finest = finestFrequency({
    mtfAt: (perMm) => {
      inFocus.spatialFrequencyPerMm = perMm;
      return systemMtf(inFocus);
    },
    contrastNeeded: station.task.contrastNeeded,
    startPerMm: frequencyPerMm,
    nyquistPerMm: perMmFromPerPx({ frequencyPerPx: 0.5, pixelPitchUm: sensor.pixelPitchUm }),
  });
  const finestFeatureMm = finest && 1 / (2 * finest.frequencyPerMm * magnification);
  return {
    prediction: {
      name: plane.name,
      workingDistanceMm: plane.workingDistanceMm,
      focalPowerDpt: inside ? neededPowerDpt : null,
      neededPowerDpt,
      magnification,
      ...fieldOfViewMm({ station, magnification }),
      workingFNumber: system.workingFNumber,
      objectNumericalAperture: system.objectNumericalAperture,
      pupils: { entrance: system.entrancePupil, exit: system.exitPupil },
      limitingStop: system.limitingStop,
      depthOfFieldMm: depth.depthOfFieldMm,
      depthOfField: depth.depthOfField,
      taskFrequencyPerMm: frequencyPerMm,
      taskFrequencyPerPx: perPxFromPerMm({ frequencyPerMm, pixelPitchUm: sensor.pixelPitchUm }),
      mtfAtTask,
      mtfParts,
      cornerMtfAtTask,
      finestFeatureMm,
      meanGreyDn,
      signalToNoise,
    },
    allowedHalfWidthDpt: depth.allowedHalfWidthDpt,
    distancePerPowerMmPerDpt: distancePerPower(model, system, neededPowerDpt),
    cornerIllumination: fieldIllumination(at).relativeIllumination,
    tunableBeamDiameterMm: system.tunableBeamDiameterMm,
    whitePeakDn,
    saturationDn,
    irradianceRatio: relativeIrradiance,
    motionBlurPx: (stages.motionBlurUm ?? 0) / sensor.pixelPitchUm,
    noPower: null,
  };
}

/** |ds/dP| by a small change of power; 0 where that leaves the real objects. */
function distancePerPower(model: LayoutModel, { focus }: TracedSystem, focalPowerDpt: number): number {
  const stepDpt = 1e-4;
  const near = workingDistanceAt({ model, focalPowerDpt: focalPowerDpt + stepDpt });
  if (focus.kind !== 'real' || near.kind !== 'real') return 0;
  return Math.abs(near.workingDistanceMm - focus.workingDistanceMm) / stepDpt;
}

function unfocusablePlane({ name, workingDistanceMm }: TaskPlane, noPower: string): PlannedPlane {
  return {
    prediction: {
      name,
      workingDistanceMm,
      focalPowerDpt: null,
      neededPowerDpt: null,
      magnification: 0,
      fieldWidthMm: 0,
      fieldHeightMm: 0,
      workingFNumber: 0,
      objectNumericalAperture: 0,
      pupils: null,
      limitingStop: 'fixed-lens',
      depthOfFieldMm: 0,
      depthOfField: { blurDisc: null, quarterWave: null, taskContrast: null },
      taskFrequencyPerMm: 0,
      taskFrequencyPerPx: 0,
      mtfAtTask: 0,
      mtfParts: { diffraction: 0, colour: 0, coma: 0, wavefrontError: 0, pixel: 0, motion: 0 },
      cornerMtfAtTask: 0,
      finestFeatureMm: null,
      meanGreyDn: 0,
      signalToNoise: 0,
    },
    allowedHalfWidthDpt: 0,
    distancePerPowerMmPerDpt: 0,
    cornerIllumination: 0,
    tunableBeamDiameterMm: 0,
    whitePeakDn: 0,
    saturationDn: 0,
    motionBlurPx: 0,
    irradianceRatio: 0,
    noPower,
  };
}
