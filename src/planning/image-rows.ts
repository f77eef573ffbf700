import type { Station } from '../station/index.js';
import { mtfPartsOf } from './mtf-parts.js';
import type { PlannedPlane } from './planned-plane.js';
import { comparedRow, marginalShare, opening, type PlanRow, remedyShare, type Wish } from './verdict.js';
import { inWords, percent } from './words.js';

/** Rows about the image in focus: field, sampling, corner light, contrast at each plane. */
export function imageRows({ station, planes }: { station: Station; planes: readonly PlannedPlane[] }): PlanRow[] {
  const focusable = planes.filter(({ noPower }) => noPower === null);
  const rows = planes.map((plane) => contrastRow(station, plane));
  if (focusable.length === 0) return rows;
  return [
    fieldRow(station, focusable, 'width'),
    fieldRow(station, focusable, 'height'),
    samplingRow(station, focusable),
    cornerRow(station, focusable),
    ...rows,
    cornerContrastRow(station, focusable),
    finestRow(station, focusable),
  ];
}

function fieldRow(station: Station, planes: readonly PlannedPlane[], side: 'width' | 'height'): PlanRow {
  const sizeOf = ({ prediction }: PlannedPlane) =>
    side === 'width' ? prediction.fieldWidthMm : prediction.fieldHeightMm;
  const smallest = planes.reduce((a, b) => (sizeOf(b) < sizeOf(a) ? b : a));
  const neededMm = side === 'width' ? station.task.fieldWidthMm : station.task.fieldHeightMm;
  const { fieldWidthMm, fieldHeightMm } = smallest.prediction;
  const turned = fieldHeightMm >= station.task.fieldWidthMm && fieldWidthMm >= station.task.fieldHeightMm;
  const focalLengthMm =
    (station.parts.fixedLens.focalLengthMm * sizeOf(smallest)) / (neededMm * (1 + marginalShare.field));
  return comparedRow({
    key: `field.${side}`,
    title: `Field ${side} at the distance where it is smallest`,
    unit: 'mm',
    value: sizeOf(smallest),
    required: { min: neededMm, max: null },
    marginalFraction: marginalShare.field,
    reason: `at ${inWords(smallest.prediction.workingDistanceMm, 'mm')} the sensor sees ${inWords(sizeOf(smallest), 'mm')} of the ${inWords(neededMm, 'mm')} needed`,
    remedy: () =>
      turned
        ? 'turn the camera by 90°: then both sides fit'
        : `use a fixed lens of ${inWords(focalLengthMm, 'mm')} or less, a larger sensor, or more distance`,
    basis: 'Sensor size / |m|, |m| from the paraxial layout at the plane’s focal power; distortion left out.',
  });
}

function samplingRow(station: Station, planes: readonly PlannedPlane[]): PlanRow {
  const finest = planes.reduce((a, b) => (b.prediction.taskFrequencyPerPx > a.prediction.taskFrequencyPerPx ? b : a));
  const { taskFrequencyPerPx, workingDistanceMm } = finest.prediction;
  const pixels = 1 / (2 * taskFrequencyPerPx);
  return comparedRow({
    key: 'sampling.frequency',
    title: 'Task frequency on the sensor, where it is highest',
    unit: 'cycles/px',
    value: taskFrequencyPerPx,
    required: { min: null, max: 0.5 },
    reason: `at ${inWords(workingDistanceMm, 'mm')} the smallest feature of ${inWords(station.task.smallestFeatureMm, 'mm')} covers ${inWords(pixels)} px; 2 to 3 px are common practice, no source`,
    remedy: () =>
      `raise the magnification by ${percent(taskFrequencyPerPx / (0.5 * (1 - remedyShare)) - 1)} (longer focal length), or take pixels of ` +
      `${inWords((station.parts.sensor.pixelPitchUm * 0.5 * (1 - remedyShare)) / taskFrequencyPerPx, 'µm')} or less`,
    basis: '|m| · feature against one pixel; 0.5 cycles per pixel is the Nyquist limit: finer patterns alias.',
  });
}

function cornerRow(station: Station, planes: readonly PlannedPlane[]): PlanRow {
  const darkest = planes.reduce((a, b) => (b.cornerIllumination < a.cornerIllumination ? b : a));
  const limits = planes.some(({ prediction }) => prediction.limitingStop === 'tunable-lens');
  const widestMm = Math.max(...planes.map(({ tunableBeamDiameterMm }) => tunableBeamDiameterMm));
  const clearMm = station.parts.tunableLens.clearApertureMm;
  const beam = limits
    ? `the tunable lens’s clear aperture of ${inWords(clearMm, 'mm')} cuts the beam and sets the f-number`
    : `the axial beam is ${inWords(widestMm, 'mm')} wide in the tunable lens’s ${inWords(clearMm, 'mm')}`;
  return comparedRow({
    key: 'illumination.corner',
    title: 'Light in the corner relative to the centre, where it is least',
    unit: '',
    value: darkest.cornerIllumination,
    required: { min: station.task.cornerIlluminationNeeded, max: null },
    reason: `at ${inWords(darkest.prediction.workingDistanceMm, 'mm')} the corner gets ${percent(darkest.cornerIllumination)}; ${beam}`,
    remedy: () =>
      'bring the tunable lens nearer to the fixed lens, close the aperture, or use a lens with a wider clear aperture',
    wishes: () => [{ dial: 'fNumber', direction: 'up', by: 'light in the corner' }],
    basis:
      'Overlap of the fixed lens’s stop and the tunable lens’s clear aperture seen from the corner, times cos⁴ of the chief ray’s angle.',
  });
}

function contrastRow(station: Station, plane: PlannedPlane): PlanRow {
  const { name, workingDistanceMm, mtfAtTask, mtfParts, taskFrequencyPerPx } = plane.prediction;
  const at = inWords(workingDistanceMm, 'mm');
  const row = {
    key: `resolution.${name}.mtfAtTask`,
    title: `Contrast at the task frequency at ${at}`,
    unit: '',
    basis:
      'Diffraction at the light’s wavelengths (traced working f-number) × axial colour × coma by gravity in its worst orientation × wavefront error (Shannon’s factor) × pixel × motion, on the axis, in focus. ' +
      'Left out: field curvature, sharpening in the camera.',
  };
  const required = { min: station.task.contrastNeeded, max: null };
  if (plane.noPower !== null) {
    return {
      ...row,
      required,
      predicted: null,
      measured: null,
      verdict: 'fails',
      reason: `${opening.fails}no focal power focuses ${at}: ${plane.noPower}`,
      remedy: 'see the rows on reach',
      spareFraction: Number.NEGATIVE_INFINITY,
    };
  }
  const parts = Object.entries(mtfParts)
    .filter(([part, value]) => value !== 1 || part === 'diffraction')
    .map(([part, value]) => `${partInWords[part as keyof typeof mtfParts]} ${inWords(value, '', 2)}`);
  return comparedRow({
    ...row,
    value: mtfAtTask,
    required,
    reason: `at ${at} the MTF at ${inWords(taskFrequencyPerPx)} cycles/px is ${inWords(mtfAtTask, '', 2)} (${parts.join(' · ')}), ${inWords(station.task.contrastNeeded)} is needed`,
    remedy: () => contrastRemedy(station, plane),
    wishes: () => contrastWishes(station, plane),
  });
}

/** The sensor's corner, in the light of all that a datasheet tells; the real lens decides. */
function cornerContrastRow(station: Station, planes: readonly PlannedPlane[]): PlanRow {
  const worst = planes.reduce((a, b) => (b.prediction.cornerMtfAtTask < a.prediction.cornerMtfAtTask ? b : a));
  const { cornerMtfAtTask, mtfAtTask, workingDistanceMm } = worst.prediction;
  return comparedRow({
    key: 'resolution.corner.mtfAtTask',
    title: 'Contrast at the task frequency in the corner, where it is least',
    unit: '',
    value: cornerMtfAtTask,
    required: { min: station.task.contrastNeeded, max: null },
    reason: `at ${inWords(workingDistanceMm, 'mm')} the corner’s MTF is at most ${inWords(cornerMtfAtTask, '', 2)}, that of the centre ${inWords(mtfAtTask, '', 2)}; ${inWords(station.task.contrastNeeded)} is needed`,
    remedy: () =>
      mtfAtTask < station.task.contrastNeeded
        ? 'see the row on the centre: the corner is never better'
        : 'bring the tunable lens nearer to the fixed lens or take a wider clear aperture, so that the pupil is not cut; or a lens whose chief rays meet the sensor less aslant',
    basis:
      'Pupil as the corner sees it: cut by the second stop, foreshortened by the chief ray’s angle, for the worse of lines across and along the radius. ' +
      'An upper bound: field curvature, astigmatism and lateral colour of the fixed lens are in no datasheet. Prove it on a target.',
  });
}

function finestRow(station: Station, planes: readonly PlannedPlane[]): PlanRow {
  const sizeOf = ({ prediction }: PlannedPlane) => prediction.finestFeatureMm ?? Number.MAX_VALUE;
  const coarsest = planes.reduce((a, b) => (sizeOf(b) > sizeOf(a) ? b : a));
  const { finestFeatureMm, workingDistanceMm } = coarsest.prediction;
  const { smallestFeatureMm, contrastNeeded } = station.task;
  const at = inWords(workingDistanceMm, 'mm');
  const row = {
    key: 'resolution.finestFeature',
    title: 'Finest feature with the task’s contrast, where it is coarsest',
    unit: 'mm',
    basis:
      'Width of line and gap at which the MTF on the axis, in focus, falls to the contrast needed; never finer than two pixels to a period.',
  };
  const required = { min: null, max: smallestFeatureMm };
  if (finestFeatureMm === null) {
    return {
      ...row,
      required,
      predicted: null,
      measured: null,
      verdict: 'fails',
      reason: `${opening.fails}at ${at} no pattern has a contrast of ${inWords(contrastNeeded)}`,
      remedy: 'see the rows on contrast',
      spareFraction: Number.NEGATIVE_INFINITY,
    };
  }
  return comparedRow({
    ...row,
    value: finestFeatureMm,
    required,
    reason: `at ${at} lines and gaps of ${inWords(finestFeatureMm, 'mm')} still have a contrast of ${inWords(contrastNeeded)}; the smallest feature has ${inWords(smallestFeatureMm, 'mm')}`,
    remedy: () => 'see the rows on contrast and on sampling',
  });
}

const partInWords = {
  diffraction: 'diffraction',
  colour: 'axial colour',
  coma: 'coma by gravity',
  wavefrontError: 'wavefront error',
  pixel: 'pixel',
  motion: 'motion',
};

type Part = keyof PlannedPlane['prediction']['mtfParts'];

const worstPart = ({ prediction }: PlannedPlane): Part =>
  Object.entries(prediction.mtfParts).sort(([, a], [, b]) => a - b)[0]![0] as Part;

/** What the part that costs most would have turned. */
function contrastWishes({ controls, layout }: Station, plane: PlannedPlane): Wish[] {
  const by = `contrast at ${inWords(plane.prediction.workingDistanceMm, 'mm')}`;
  switch (worstPart(plane)) {
    case 'motion':
      return [{ dial: 'exposureMs', direction: 'down', by, value: controls.exposureMs / 2 }];
    case 'diffraction':
      return [{ dial: 'fNumber', direction: 'down', by, value: layout.fNumber / 2 }];
    case 'colour':
      return [{ dial: 'fNumber', direction: 'up', by }];
    default:
      return [];
  }
}

/** Relief for the part that costs most. */
function contrastRemedy(station: Station, plane: PlannedPlane): string {
  const { workingFNumber, taskFrequencyPerMm } = plane.prediction;
  const { wavelengthNm } = station.parts.light;
  switch (worstPart(plane)) {
    case 'motion':
      return `shorten the exposure to ${inWords(station.controls.exposureMs / 2, 'ms')}, with twice the light`;
    case 'pixel':
      return 'raise the magnification or take smaller pixels: the feature is too fine for the pixel';
    case 'colour':
      return `take narrower light: of its ${inWords(station.parts.light.bandwidthNm, 'nm')} most go to colours out of focus; or close the aperture`;
    case 'coma':
      return 'mount the camera so that its axis is vertical, or take a tunable lens with less coma by gravity';
    case 'wavefrontError':
      return 'take lenses with less wavefront error, or a greater magnification';
    case 'diffraction': {
      const wider = mtfPartsOf({
        frequencyPerMm: taskFrequencyPerMm,
        workingFNumber: workingFNumber / 2,
        stages: { wavelengthNm },
      });
      return `open the aperture: at half the f-number (f/${inWords(station.layout.fNumber / 2, '', 2)}) diffraction leaves ${inWords(wider.parts.diffraction, '', 2)}`;
    }
  }
}
