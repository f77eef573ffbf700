import { perMmFromPerPx, perPxFromPerMm, umFromMm } from '../base/index.js';
import {
  type FieldMtfPoint,
  fieldIllumination,
  fieldMtf,
  fieldPupil,
  focalPowerAt,
  type LayoutModel,
  type SystemOtfPoint,
  squareWaveContrast,
  systemOtf,
  threeBarElementAt,
  traceSystem,
  unvignettedImageRadiusMm,
} from '../optics/index.js';
import {
  type FieldLight,
  type FinestFeature,
  layoutModelOf,
  type PlaneSharpness,
  type SharpnessRecord,
  type Station,
  sharpnessStagesOf,
  type TaskPlane,
  taskFrequencyPerMm,
  taskPlanesOf,
} from '../station/index.js';
import { cornerHeightMm } from './corner-mtf.js';
import { finestFrequency } from './finest-frequency.js';
import { sharpnessOverDistance } from './sharpness-over-distance.js';

const frequencyCount = 25;
const heightCount = 17;
/** Harmonics of a bar pattern up to here: finer ones count for less than 2 %, and only where its contrast is near 1. */
const mostHarmonic = 51;

/**
 * Sharpness, light and scale of a station over field and distance: the figures beside the plan.
 *
 * Model    sharpnessStagesOf at each plane of the task, in focus; corner as fieldMtf sees it; three-bar element by the
 *          contrast of a long square wave
 * Returns  finite numbers only; planes that no power focuses are named apart.
 * Throws   RangeError for a layout that cannot be built: readStation refuses such files.
 * Cost     about 3 ms for three planes, up to 10 ms with axial colour and a cut pupil.
 * Trust    an upper bound off the axis: field curvature, astigmatism and lateral colour are in no datasheet. Three bars
 *          are not a long square wave: the outer ones look a little better.
 * Source   docs/planning/sharpness.md
 * Checked  property: agrees with planStation at every plane, no NaN for random stations, tests/planning
 */
export function planSharpness(station: Station): SharpnessRecord {
  const model = layoutModelOf(station);
  const { sensor } = station.parts;
  const frequenciesPerPx = Array.from({ length: frequencyCount }, (_, i) => (0.5 * i) / (frequencyCount - 1));
  const cornerMm = cornerHeightMm(station);
  const imageHeightsMm = Array.from({ length: heightCount }, (_, i) => (cornerMm * i) / (heightCount - 1));
  const taskPlanes = taskPlanesOf(station);
  const planes = taskPlanes.flatMap((plane) => {
    const found = planeSharpness({ station, model, plane, frequenciesPerPx, imageHeightsMm });
    return found === null ? [] : [found];
  });
  const darkest = planes.reduce<PlaneSharpness | null>(
    (a, b) => (a === null || cornerLight(b) < cornerLight(a) ? b : a),
    null,
  );
  const { breathingRatio, ...overDistance } = sharpnessOverDistance({ station, model, planes });
  return {
    kind: 'sharpness',
    frequenciesPerPx,
    imageHeightsMm,
    planes,
    unfocusablePlanes: taskPlanes.filter(({ name }) => !planes.some((p) => p.name === name)).map(({ name }) => name),
    overDistance,
    breathingRatio,
    darkestPlane: darkest?.name ?? null,
    threeBarCriterion: `contrast of a long square wave of that period at least ${station.task.contrastNeeded}, not finer than two pixels of ${sensor.pixelPitchUm} µm to a period`,
  };
}

const cornerLight = ({ light }: PlaneSharpness): number => light.relativeIllumination.at(-1)!;

function planeSharpness({
  station,
  model,
  plane: { name, workingDistanceMm },
  frequenciesPerPx,
  imageHeightsMm,
}: {
  station: Station;
  model: LayoutModel;
  plane: TaskPlane;
  frequenciesPerPx: readonly number[];
  imageHeightsMm: readonly number[];
}): PlaneSharpness | null {
  const power = focalPowerAt({ model, workingDistanceMm });
  if (power.kind === 'none') return null;
  const { focalPowerDpt } = power;
  const system = traceSystem({ model, focalPowerDpt });
  const magnification = Math.abs(system.magnification);
  if (system.focus.kind !== 'real' || magnification === 0) return null;
  const { workingFNumber } = system;
  const { pixelPitchUm } = station.parts.sensor;
  const { contrastNeeded } = station.task;
  const stages = sharpnessStagesOf({ station, model, focalPowerDpt, magnification, moving: true });
  const pupil = fieldPupil({ model, focalPowerDpt, imageHeightMm: imageHeightsMm.at(-1)! });
  // One point moved along the frequencies: hundreds of copies would cost more than what is computed.
  const centre: SystemOtfPoint = { ...stages, spatialFrequencyPerMm: 0, workingFNumber, defocusWaves: 0 };
  const signedAt = (perMm: number) => {
    centre.spatialFrequencyPerMm = perMm;
    return systemOtf(centre);
  };
  const centreAt = (perMm: number) => Math.abs(signedAt(perMm));
  const corner: FieldMtfPoint = {
    ...stages,
    pupil,
    lines: 'tangential',
    spatialFrequencyPerMm: 0,
    defocusWaves: 0,
  };
  const cornerAt = (perMm: number, lines: 'tangential' | 'sagittal') => {
    corner.spatialFrequencyPerMm = perMm;
    corner.lines = lines;
    return fieldMtf(corner);
  };
  const worseAt = (perMm: number) => Math.min(cornerAt(perMm, 'tangential'), cornerAt(perMm, 'sagittal'));
  const frequenciesPerMm = frequenciesPerPx.map((frequencyPerPx) => perMmFromPerPx({ frequencyPerPx, pixelPitchUm }));
  const startPerMm = taskFrequencyPerMm({ station, magnification });
  const nyquistPerMm = perMmFromPerPx({ frequencyPerPx: 0.5, pixelPitchUm });
  const search = { contrastNeeded, startPerMm, nyquistPerMm };
  const asFeature = (mtfAt: (perMm: number) => number): FinestFeature | null => {
    const found = finestFrequency({ ...search, mtfAt });
    if (found === null) return null;
    return {
      objectPeriodUm: umFromMm(1 / (found.frequencyPerMm * magnification)),
      objectFrequencyPerMm: found.frequencyPerMm * magnification,
      sensorFrequencyPerPx: perPxFromPerMm({ frequencyPerMm: found.frequencyPerMm, pixelPitchUm }),
      limitedBy: found.limitedBy,
    };
  };
  const shortestNm = Math.min(...(stages.spectrum ?? [stages]).map(({ wavelengthNm }) => wavelengthNm));
  const cutoff = 1e6 / (shortestNm * workingFNumber);
  const bars = finestFrequency({
    ...search,
    mtfAt: (frequency) =>
      squareWaveContrast({
        mtf: signedAt,
        frequency,
        cutoff: Math.min(cutoff, mostHarmonic * frequency),
      }),
  });
  const shiftsUm = (stages.spectrum ?? []).map(({ focusShiftMm }) => umFromMm(focusShiftMm));
  return {
    name,
    workingDistanceMm,
    focalPowerDpt,
    magnification,
    workingFNumber,
    taskFrequencyPerPx: perPxFromPerMm({ frequencyPerMm: startPerMm, pixelPitchUm }),
    mtfAtTask: centreAt(startPerMm),
    cornerMtfAtTask: worseAt(startPerMm),
    mtfCurves: {
      centre: frequenciesPerMm.map(centreAt),
      cornerTangential: frequenciesPerMm.map((perMm) => cornerAt(perMm, 'tangential')),
      cornerSagittal: frequenciesPerMm.map((perMm) => cornerAt(perMm, 'sagittal')),
    },
    finestCentre: asFeature(centreAt),
    finestCorner: asFeature(worseAt),
    threeBar: bars && threeBarElementAt(bars.frequencyPerMm * magnification),
    light: fieldLight({ model, focalPowerDpt, magnification, imageHeightsMm }),
    axialColourSpreadUm: shiftsUm.length === 0 ? 0 : Math.max(...shiftsUm) - Math.min(...shiftsUm),
  };
}

function fieldLight({
  model,
  focalPowerDpt,
  magnification,
  imageHeightsMm,
}: {
  model: LayoutModel;
  focalPowerDpt: number;
  magnification: number;
  imageHeightsMm: readonly number[];
}): FieldLight {
  const at = { model, focalPowerDpt };
  const light = imageHeightsMm.map((imageHeightMm) => fieldIllumination({ ...at, imageHeightMm }));
  const unvignettedRadiusMm = unvignettedImageRadiusMm(at);
  return {
    relativeIllumination: light.map(({ relativeIllumination }) => relativeIllumination),
    cornerUnvignettedShare: light.at(-1)!.unvignettedShare,
    unvignettedRadiusMm,
    unvignettedFieldMm: unvignettedRadiusMm === null ? null : (2 * unvignettedRadiusMm) / magnification,
  };
}
