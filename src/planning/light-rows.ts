import type { Station } from '../station/index.js';
import { darkestPlane, exposureForRatioMs } from './light-plan.js';
import { predictedLight } from './plane-light.js';
import type { PlannedPlane } from './planned-plane.js';
import { comparedRow, type PlanRow, remedyShare } from './verdict.js';
import { inWords } from './words.js';

/** Rows about the light: head room to saturation, signal-to-noise ratio, motion blur during the exposure. */
export function lightRows({ station, planes }: { station: Station; planes: readonly PlannedPlane[] }): PlanRow[] {
  const focusable = planes.filter(({ noPower }) => noPower === null);
  if (focusable.length === 0) return [];
  return [saturationRow(station, focusable), noiseRow(station, focusable), motionRow(station, focusable)];
}

function saturationRow(station: Station, planes: readonly PlannedPlane[]): PlanRow {
  const brightest = planes.reduce((a, b) => (b.whitePeakDn > a.whitePeakDn ? b : a));
  const { whitePeakDn, saturationDn, prediction } = brightest;
  const exposureMs = station.controls.exposureMs;
  return comparedRow({
    key: 'light.saturation',
    title: 'Grey value of a white target with its noise',
    unit: 'DN',
    value: whitePeakDn,
    required: { min: null, max: saturationDn },
    reason: `white reaches ${inWords(whitePeakDn, 'DN')} (mean ${inWords(prediction.meanGreyDn)} and 3 σ) of ${inWords(saturationDn, 'DN')} at ${inWords(exposureMs, 'ms')}`,
    remedy: () =>
      `shorten the exposure to ${inWords((exposureMs * (1 - remedyShare) * saturationDn) / whitePeakDn, 'ms', 2)}, or dim the light`,
    wishes: () => [
      { dial: 'exposureMs', direction: 'down', by: 'saturation' },
      { dial: 'light', direction: 'down', by: 'saturation' },
    ],
    basis:
      'EMVA 1288 linear camera from the irradiance on the sensor; saturation at full well or at the highest grey value.',
  });
}

function noiseRow(station: Station, planes: readonly PlannedPlane[]): PlanRow {
  const darkest = darkestPlane(planes);
  const { signalToNoise, meanGreyDn, workingDistanceMm } = darkest.prediction;
  const { signalToNoiseNeeded, contrastNeeded } = station.task;
  return comparedRow({
    key: 'light.signalToNoise',
    title: 'Signal-to-noise ratio of the task’s contrast, where it is least',
    unit: '',
    value: signalToNoise,
    required: { min: signalToNoiseNeeded, max: null },
    reason: `at ${inWords(workingDistanceMm, 'mm')} a pattern of contrast ${inWords(contrastNeeded)} stands ${inWords(signalToNoise)} times above the noise of a pixel (white at ${inWords(meanGreyDn, 'DN')}), ${inWords(signalToNoiseNeeded)} is needed`,
    remedy: () => moreLightRemedy(station, darkest),
    wishes: () => [
      { dial: 'exposureMs', direction: 'up', by: 'signal-to-noise ratio' },
      { dial: 'light', direction: 'up', by: 'signal-to-noise ratio' },
      { dial: 'fNumber', direction: 'down', by: 'signal-to-noise ratio' },
    ],
    basis:
      'EMVA 1288: contrast × white / noise at half of white, one pixel, one frame. 5 is the ratio of Rose (1948) for seeing a feature (from memory).',
  });
}

function motionRow(station: Station, planes: readonly PlannedPlane[]): PlanRow {
  const longest = planes.reduce((a, b) => (b.motionBlurPx > a.motionBlurPx ? b : a));
  const { exposureMs } = station.controls;
  const { speedMmPerS, blurDiscMaxPx } = station.task;
  return comparedRow({
    key: 'motion.blur',
    title: 'Motion blur during the exposure, where it is longest',
    unit: 'px',
    value: longest.motionBlurPx,
    required: { min: null, max: blurDiscMaxPx },
    reason: `${inWords(speedMmPerS, 'mm/s')} in ${inWords(exposureMs, 'ms')} smear ${inWords(longest.motionBlurPx)} px at ${inWords(longest.prediction.workingDistanceMm, 'mm')}`,
    remedy: () =>
      `shorten the exposure to ${inWords((exposureMs * blurDiscMaxPx * (1 - remedyShare)) / longest.motionBlurPx, 'ms', 2)}, with more light`,
    wishes: () => [
      { dial: 'exposureMs', direction: 'down', by: 'motion blur' },
      { dial: 'light', direction: 'up', by: 'motion blur' },
    ],
    basis: 'Speed · exposure · |m| / pixel pitch, against the task’s largest blur.',
  });
}

/** Exposure, or light, that gives the signal-to-noise ratio with the usual margin. */
function moreLightRemedy(station: Station, plane: PlannedPlane): string {
  const { exposureMs } = station.controls;
  const ratio = station.task.signalToNoiseNeeded * (1 + remedyShare);
  const neededMs = exposureForRatioMs({ station, plane, ratio });
  const relativeIrradiance = plane.irradianceRatio;
  const there = neededMs === null ? null : predictedLight({ station, relativeIrradiance, exposureMs: neededMs });
  if (neededMs === null || there === null || there.whitePeakDn > there.saturationDn) {
    return 'average several frames, or take a sensor with a larger full well: this one saturates before the ratio is reached';
  }
  const factor = neededMs / exposureMs;
  const times = inWords(factor, '', 2);
  const blurPx = plane.motionBlurPx * factor;
  const wider = station.layout.fNumber / Math.sqrt(factor);
  const ways = [`${times} times the light`];
  if (blurPx <= station.task.blurDiscMaxPx) ways.unshift(`an exposure of ${inWords(exposureMs * factor, 'ms')}`);
  if (wider >= station.parts.fixedLens.fNumberMin) ways.push(`f/${inWords(wider, '', 2)}`);
  return `give it ${ways.join(', or ')}`;
}
