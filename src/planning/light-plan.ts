import { photonsForSignalToNoise } from '../optics/index.js';
import {
  type LightPlan,
  type Station,
  sensorNoiseModelOf,
  whiteIrradianceUwPerCm2,
  whitePhotonsPerPixel,
} from '../station/index.js';
import type { PlannedPlane } from './planned-plane.js';

/** Share of the grey values that white with its noise should fill at most. */
const filledShare = 0.9;

/**
 * Exposures and gain that the light allows.
 *
 * Model    EMVA 1288 linear camera without dark current, so light grows in proportion to the exposure
 * Formula  motion: t·blur_max / blur;  needed: t·μ_p(ratio) / μ_p(now), see photonsForSignalToNoise;
 *          saturation: t·(saturation − black) / (white + 3σ − black);  gain: K·0.9·(highest grey − black) / (white + 3σ − black)
 * Returns  null where no plane can be focused.
 * Trust    white's noise grows more slowly than white, so saturation comes a little later than said.
 * Checked  property: each exposure meets its row just so, tests/planning/light-plan.test.ts
 */
export function lightPlanOf({
  station,
  planes,
}: {
  station: Station;
  planes: readonly PlannedPlane[];
}): LightPlan | null {
  const focusable = planes.filter(({ noPower }) => noPower === null);
  if (focusable.length === 0) return null;
  const darkest = darkestPlane(focusable);
  const brightest = focusable.reduce((a, b) => (b.whitePeakDn > a.whitePeakDn ? b : a));
  const motionBlurPx = Math.max(...focusable.map((plane) => plane.motionBlurPx));
  const { exposureMs } = station.controls;
  const { gainDnPerE, blackLevelDn, bitDepth } = station.parts.sensor;
  const whiteDn = brightest.whitePeakDn - blackLevelDn;
  return {
    irradianceUwPerCm2: whiteIrradianceUwPerCm2(station),
    from: station.parts.light.measured ? 'measured-frame' : 'stated-irradiance',
    exposureMs,
    motionExposureMs: motionBlurPx > 0 ? (exposureMs * station.task.blurDiscMaxPx) / motionBlurPx : null,
    neededExposureMs: exposureForRatioMs({ station, plane: darkest, ratio: station.task.signalToNoiseNeeded }),
    saturationExposureMs: (exposureMs * (brightest.saturationDn - blackLevelDn)) / whiteDn,
    gainDnPerE,
    fillingGainDnPerE: (gainDnPerE * filledShare * (2 ** bitDepth - 1 - blackLevelDn)) / whiteDn,
  };
}

/** The plane whose pattern stands least above the noise. */
export function darkestPlane(planes: readonly PlannedPlane[]): PlannedPlane {
  return planes.reduce((a, b) => (b.prediction.signalToNoise < a.prediction.signalToNoise ? b : a));
}

/** Exposure at which the task's contrast has this signal-to-noise ratio at a plane; null where none gives it. */
export function exposureForRatioMs({
  station,
  plane,
  ratio,
}: {
  station: Station;
  plane: PlannedPlane;
  ratio: number;
}): number | null {
  const { exposureMs } = station.controls;
  const needed = photonsForSignalToNoise({
    sensor: sensorNoiseModelOf(station),
    signalToNoise: ratio / (2 * station.task.contrastNeeded),
    exposureMs,
  });
  if (needed === null) return null;
  const halfWhite = (whitePhotonsPerPixel({ station, exposureMs }) * plane.irradianceRatio) / 2;
  return (exposureMs * needed) / halfWhite;
}
