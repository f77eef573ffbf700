import { mmFromUm } from '../base/index.js';
import {
  type BlurStages,
  chiefRayMagnification,
  focalPowerAt,
  type LayoutModel,
  layoutDefocusWaves,
  type SystemOtfPoint,
  systemMtf,
  traceSystem,
} from '../optics/index.js';
import {
  type HeldFocus,
  type PlaneSharpness,
  powerLimitsOf,
  type SharpnessRecord,
  type Station,
  sharpnessStagesOf,
} from '../station/index.js';

const distanceCount = 49;
/** How far the distances go beyond the task's, as a share of its range. */
const overhang = 0.08;
/** Held focuses that are followed: nearest, middle and farthest. */
const mostHeld = 3;

/**
 * Contrast and scale over the task's distances, refocused at each and with the focus held at some.
 *
 * Model    the task's feature on the object, on the axis; scale by the chief ray, which counts out of focus too
 * Returns  distances evenly spaced in vergence; `breathingRatio`: see SharpnessRecord.
 */
export function sharpnessOverDistance({
  station,
  model,
  planes,
}: {
  station: Station;
  model: LayoutModel;
  planes: readonly PlaneSharpness[];
}): SharpnessRecord['overDistance'] & Pick<SharpnessRecord, 'breathingRatio'> {
  const workingDistancesMm = distancesOf(station, model);
  const inside = [...planes].sort((a, b) => a.workingDistanceMm - b.workingDistanceMm);
  const shown =
    inside.length <= mostHeld ? inside : [inside[0]!, inside[(inside.length - 1) >> 1]!, inside[inside.length - 1]!];
  const held = shown.map((plane) => heldFocus({ station, model, plane, workingDistancesMm }));
  const refocused = workingDistancesMm.map((workingDistanceMm) => refocusedAt({ station, model, workingDistanceMm }));
  return {
    workingDistancesMm,
    refocusedMtfAtTask: refocused.map((at) => at?.mtfAtTask ?? null),
    refocusedFieldWidthMm: refocused.map((at) => at?.fieldWidthMm ?? null),
    held,
    breathingRatio: breathingOf(held),
  };
}

/** The task's distances with some air, in front of the entrance pupil. */
function distancesOf({ task: { nearMm, farMm } }: Station, model: LayoutModel): number[] {
  const air = overhang * (farMm - nearMm);
  const [nearest, farthest] = [Math.max(nearMm - air, nearMm / 2), farMm + air];
  return Array.from({ length: distanceCount }, (_, i) => {
    const vergence = 1 / nearest + (i / (distanceCount - 1)) * (1 / farthest - 1 / nearest);
    return 1 / vergence;
  }).filter((mm) => mm + model.frontOffsetMm > 0);
}

function heldFocus({
  station,
  model,
  plane: { name, workingDistanceMm: focusedAtMm, focalPowerDpt, workingFNumber },
  workingDistancesMm,
}: {
  station: Station;
  model: LayoutModel;
  plane: PlaneSharpness;
  workingDistancesMm: readonly number[];
}): HeldFocus {
  const at = { model, focalPowerDpt };
  const { wavelengthNm } = station.parts.light;
  const scales = workingDistancesMm.map((mm) => scaleAt({ ...at, workingDistanceMm: mm }));
  // Axial colour and coma stay the same over distance; motion grows with the scale.
  const [still, moving] = [false, true].map((moves) =>
    sharpnessStagesOf({ station, ...at, magnification: 1, moving: moves }),
  ) as [BlurStages, BlurStages];
  const speedBlurUm = moving.motionBlurUm ?? 0;
  const point: SystemOtfPoint = {
    ...still,
    motionBlurUm: 0,
    spatialFrequencyPerMm: 0,
    workingFNumber,
    defocusWaves: 0,
  };
  return {
    name,
    focusedAtMm,
    focalPowerDpt,
    mtfAtTask: workingDistancesMm.map((workingDistanceMm, i) => {
      const magnification = scales[i]!;
      if (magnification === null) return 0;
      point.motionBlurUm = speedBlurUm * magnification;
      point.spatialFrequencyPerMm = 1 / (2 * station.task.smallestFeatureMm * magnification);
      point.defocusWaves = layoutDefocusWaves({ model, focalPowerDpt, workingDistanceMm, wavelengthNm });
      return systemMtf(point);
    }),
    fieldWidthMm: scales.map((magnification) => (magnification === null ? 0 : sensorWidthMm(station) / magnification)),
  };
}

const sensorWidthMm = ({ parts: { sensor } }: Station): number => mmFromUm(sensor.pixelPitchUm) * sensor.widthPx;

/** |chief-ray magnification|; null at the entrance pupil or behind, where nothing can stand. */
function scaleAt(at: { model: LayoutModel; focalPowerDpt: number; workingDistanceMm: number }): number | null {
  try {
    const magnification = Math.abs(chiefRayMagnification(at));
    return magnification > 0 && Number.isFinite(magnification) ? magnification : null;
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

function refocusedAt({
  station,
  model,
  workingDistanceMm,
}: {
  station: Station;
  model: LayoutModel;
  workingDistanceMm: number;
}): { mtfAtTask: number; fieldWidthMm: number } | null {
  const power = focalPowerAt({ model, workingDistanceMm });
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  if (power.kind === 'none' || power.focalPowerDpt < powerMinDpt || power.focalPowerDpt > powerMaxDpt) return null;
  const at = { model, focalPowerDpt: power.focalPowerDpt };
  const system = traceSystem(at);
  const magnification = Math.abs(system.magnification);
  if (system.focus.kind !== 'real' || magnification === 0) return null;
  return {
    fieldWidthMm: sensorWidthMm(station) / magnification,
    mtfAtTask: systemMtf({
      ...sharpnessStagesOf({ station, ...at, magnification, moving: true }),
      spatialFrequencyPerMm: 1 / (2 * station.task.smallestFeatureMm * magnification),
      workingFNumber: system.workingFNumber,
      defocusWaves: 0,
    }),
  };
}

/** Largest ratio of fields between held focuses at one distance, less 1. */
function breathingOf(held: readonly HeldFocus[]): number | null {
  const first = held[0];
  if (first === undefined) return null;
  const ratios = first.fieldWidthMm.map((_, i) => {
    const widths = held.map(({ fieldWidthMm }) => fieldWidthMm[i]!).filter((width) => width > 0);
    return widths.length === 0 ? 0 : Math.max(...widths) / Math.min(...widths) - 1;
  });
  return Math.max(0, ...ratios);
}
