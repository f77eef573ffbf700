import type { SeenPoint } from '../sweep/run.js';
import { type Refusal, refuse } from './refusals.js';

/** Share of saturated pixels above which the focus measure is not to be trusted. */
const mostSaturated = 0.02;
/** Signal over the black level, as a share of full scale, below which a scene is too dark. */
const leastSignal = 0.02;
/** Measure over its noise floor below which there is no structure to focus on. */
const leastOverFloor = 1.25;

/** Refuses a sweep whose frames cannot show focus: saturated, too dark or without structure. Null where they can. */
export function refusePoints(points: readonly SeenPoint[]): Refusal | null {
  const saturated = Math.max(...points.map((p) => p.saturatedFraction));
  if (saturated > mostSaturated) {
    return refuse(
      'saturated',
      `Up to ${percent(saturated)} of the pixels are saturated; at most ${percent(mostSaturated)} may be.`,
    );
  }
  const brightest = points.reduce((a, b) => (b.meanGreyDn > a.meanGreyDn ? b : a));
  const signalDn = brightest.meanGreyDn - brightest.blackDn;
  if (signalDn < leastSignal * brightest.fullScaleDn) {
    return refuse(
      'too-dark',
      `The mean grey value is ${brightest.meanGreyDn.toFixed(1)} DN, ${signalDn.toFixed(1)} DN above black; at least ${(leastSignal * brightest.fullScaleDn).toFixed(1)} DN are needed.`,
    );
  }
  const sharpest = points.reduce((a, b) => (b.measure > a.measure ? b : a));
  if (sharpest.measure < leastOverFloor * sharpest.noiseFloorMeasure) {
    return refuse(
      'no-texture',
      `Even at its highest the focus measure (${short(sharpest.measure)}) does not rise above the sensor’s noise (${short(sharpest.noiseFloorMeasure)}).`,
    );
  }
  return null;
}

const percent = (share: number): string => `${(100 * share).toFixed(1)} %`;
const short = (value: number): string => String(Number(value.toPrecision(3)));
