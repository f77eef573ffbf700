import {
  type FocusMeasure,
  focusMeasureNoise,
  type GreyImage,
  measureFocus,
  type Region,
  regionStatistics,
} from '../../image/index.js';
import { type Station, type SweepPoint, saturationLevelDn, sensorNoiseStdDn } from '../../station/index.js';
import { moveLens } from '../move-lens.js';
import type { Run } from '../run-context.js';
import { takeFrame } from '../take-frame.js';
import { greyHistogram, shareAtOrAbove } from './grey-histogram.js';
import type { SweepPlan } from './plan.js';

/** A sweep point with what is needed to judge it. */
export interface SeenPoint extends SweepPoint {
  measureStd: number;
  /** What the measure would be on a scene without structure. */
  noiseFloorMeasure: number;
  /** Grey value of the sensor in the dark, and full scale. */
  blackDn: number;
  fullScaleDn: number;
  /** Share of saturated pixels. */
  saturatedFraction: number;
}

/** Share of the depth-of-field half-width to which the lens settles before a frame. */
export const settleFraction = 0.01;

/**
 * Runs a sweep: moves, waits, grabs, measures.
 *
 * Input    `seen` grows by a point for each frame, so that a cancel or a fault keeps what was measured.
 * Throws   `cancelled`, `lens-not-moving`, `frame-lost`, or what the camera throws.
 */
export async function runSweep(
  run: Run,
  {
    workingDistanceMm,
    plan,
    halfWidthDpt,
    measure,
    region,
    predictedBestDpt,
    seen,
  }: {
    workingDistanceMm: number;
    plan: SweepPlan;
    halfWidthDpt: number;
    measure: FocusMeasure;
    region: Region;
    predictedBestDpt: number;
    seen: SeenPoint[];
  },
): Promise<void> {
  const settleToDpt = settleFraction * halfWidthDpt;
  if (plan.approachDpt !== null) await moveLens(run, { focalPowerDpt: plan.approachDpt, settleToDpt });
  for (const focalPowerDpt of plan.powersDpt) {
    const commandedDpt = await moveLens(run, { focalPowerDpt, settleToDpt });
    if (seen.some((point) => point.focalPowerDpt === commandedDpt)) continue;
    const { frame, file } = await takeFrame(run, {
      workingDistanceMm,
      commandedDpt,
      nearEnoughDpt: halfWidthDpt / 4,
      purpose: 'sweep',
    });
    const point = {
      focalPowerDpt: commandedDpt,
      ...judgeFrame({ station: run.station, image: frame.image, region, measure }),
      temperatureDegC: frame.temperatureDegC,
      frame: file,
    };
    seen.push(point);
    run.observer({
      type: 'sweep-point',
      workingDistanceMm,
      focalPowerDpt: commandedDpt,
      measureName: measure,
      measure: point.measure,
      measureStd: point.measureStd,
      predictedBestDpt,
    });
  }
}

/** Sharpness of a region with its noise, and what tells whether it can be trusted. */
export function judgeFrame({
  station,
  image,
  region,
  measure,
}: {
  station: Station;
  image: GreyImage;
  region: Region;
  measure: FocusMeasure;
}) {
  const { sensor } = station.parts;
  const { meanDn } = regionStatistics({ image, region });
  const noiseStdDn = sensorNoiseStdDn({ sensor, greyDn: meanDn, bitDepth: image.bitDepth });
  const noise = focusMeasureNoise({ image, region, measure, noiseStdDn });
  return {
    measure: measureFocus({ image, region, measure }),
    measureStd: noise.std,
    noiseFloorMeasure: noise.noiseFloor,
    meanGreyDn: meanDn,
    blackDn: sensor.blackLevelDn * 2 ** (image.bitDepth - sensor.bitDepth),
    fullScaleDn: 2 ** image.bitDepth - 1,
    saturatedFraction: shareAtOrAbove(
      greyHistogram(image, region),
      saturationLevelDn({ sensor, bitDepth: image.bitDepth }),
    ),
  };
}

/** The middle half of a frame each way: the default region of every sweep. */
export function centreHalf({ widthPx, heightPx }: { widthPx: number; heightPx: number }): Region {
  return {
    xPx: Math.floor(widthPx / 4),
    yPx: Math.floor(heightPx / 4),
    widthPx: Math.max(1, Math.floor(widthPx / 2)),
    heightPx: Math.max(1, Math.floor(heightPx / 2)),
  };
}
