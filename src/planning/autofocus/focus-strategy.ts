import { greyValueStatistics } from '../../optics/index.js';
import {
  type FocusAtLight,
  type FocusStrategyPrediction,
  type Station,
  sensorNoiseModelOf,
  whiteIrradianceUwPerCm2,
  whitePhotonsPerPixel,
} from '../../station/index.js';
import { planStation } from '../plan-station.js';

/** Levels of light that are looked at, as mean grey values above black in levels of 8 bit. */
export const strategyLevelsDn = [2, 4, 8, 16, 32, 64] as const;

/**
 * Autofocus of a station over the light, before hardware exists.
 *
 * Model    predictAutofocus (three probes, a confirming frame) at the plane where it is hardest, with the station's light
 *          scaled to each mean grey value; what limits is the greatest of noise, repeatability and control step at the
 *          station's own light
 * Returns  null where no plane of the task can be focused.
 * Trust    a bound: no search does better; see predictAutofocus.
 * Source   docs/planning/focus-strategy.md
 * Checked  property: more light, more certain; tests/planning/focus-strategy.test.ts
 */
export function predictFocusStrategy(station: Station): FocusStrategyPrediction | null {
  const ownLevelDn = meanLevelDn(station);
  const own = predictedAt(station, 1);
  if (own === null) return null;
  const { repeatabilityDpt, controlStepDpt } = station.parts.tunableLens;
  const stepStdDpt = controlStepDpt / Math.sqrt(12);
  const limits = { noise: own.light.boundStdDpt, repeatability: repeatabilityDpt, 'control-step': stepStdDpt };
  return {
    plane: own.plane,
    workingDistanceMm: own.workingDistanceMm,
    regionPx: own.regionPx,
    halfWidthDpt: own.halfWidthDpt,
    ownLevelDn,
    own: own.light,
    timeMs: own.timeMs,
    byLight: strategyLevelsDn.flatMap((level) => predictedAt(station, level / ownLevelDn)?.light ?? []),
    limitedBy: (Object.keys(limits) as (keyof typeof limits)[]).reduce((a, b) => (limits[b] > limits[a] ? b : a)),
  };
}

/** Mean grey value of half of white above black, in levels of 8 bit. */
export function meanLevelDn(station: Station): number {
  const sensor = sensorNoiseModelOf(station);
  const { exposureMs } = station.controls;
  const photons = whitePhotonsPerPixel({ station }) / 2;
  const { meanDn } = greyValueStatistics({ sensor, photons, exposureMs });
  return (meanDn - sensor.darkOffsetDn) / 2 ** (station.parts.sensor.bitDepth - 8);
}

function predictedAt(station: Station, lightRatio: number) {
  const plan = planStation(withLight(station, lightRatio), { stationSha256: '', softwareVersion: '' });
  const search = plan.autofocus?.searches.find(({ name }) => name === 'three-probes');
  const row = plan.ledger.find(({ key }) => key === 'autofocus.spread');
  if (!plan.autofocus || !search || row?.required?.max == null) return null;
  const light: FocusAtLight = {
    meanLevelDn: meanLevelDn(station) * lightRatio,
    boundStdDpt: search.boundStdDpt,
    finalStdDpt: search.finalStdDpt,
    insideProbability: search.insideProbability,
  };
  const { plane, workingDistanceMm, regionPx } = plan.autofocus;
  return { plane, workingDistanceMm, regionPx, halfWidthDpt: row.required.max, timeMs: search.timeMs, light };
}

/** The station with its light made brighter or darker. */
function withLight(station: Station, ratio: number): Station {
  if (ratio === 1) return station;
  const { measured: _, ...light } = station.parts.light;
  const scaled = {
    ...light,
    sensorIrradianceUwPerCm2: ratio * whiteIrradianceUwPerCm2(station),
    atFNumber: station.layout.fNumber,
  };
  return { ...station, parts: { ...station.parts, light: scaled } };
}
