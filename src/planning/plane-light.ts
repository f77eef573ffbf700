import { greyValueStatistics } from '../optics/index.js';
import { patternSignalToNoise, type Station, sensorNoiseModelOf, whitePhotonsPerPixel } from '../station/index.js';

/** What the light makes of a white target and of the task's pattern. */
export interface PredictedLight {
  meanGreyDn: number;
  /** White with three standard deviations of noise. */
  whitePeakDn: number;
  saturationDn: number;
  /** Of a pattern with the task's contrast; see patternSignalToNoise. */
  signalToNoise: number;
}

/**
 * Grey value, head room and signal-to-noise ratio at an exposure.
 *
 * Model    EMVA 1288 linear camera; `whitePeakDn` is not held at saturation, so that it tells by how much it is passed
 */
export function predictedLight({
  station,
  relativeIrradiance,
  exposureMs = station.controls.exposureMs,
}: {
  station: Station;
  relativeIrradiance: number;
  exposureMs?: number;
}): PredictedLight {
  const sensor = sensorNoiseModelOf(station);
  const photons = whitePhotonsPerPixel({ station, exposureMs, relativeIrradiance });
  const { meanDn, temporalStdDn, signalE } = greyValueStatistics({ sensor, photons, exposureMs });
  return {
    meanGreyDn: meanDn,
    whitePeakDn: sensor.darkOffsetDn + sensor.systemGainDnPerE * signalE + 3 * temporalStdDn,
    saturationDn: sensor.darkOffsetDn + sensor.systemGainDnPerE * sensor.saturationCapacityE,
    signalToNoise: patternSignalToNoise({
      station,
      whitePhotons: photons,
      contrast: station.task.contrastNeeded,
      exposureMs,
    }),
  };
}
