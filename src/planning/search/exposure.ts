import { photonsPerPixel } from '../../optics/index.js';
import { type Station, sensorNoiseModelOf } from '../../station/index.js';
import { remedyShare } from '../verdict.js';

/** Largest share of the time for one plane that the exposure takes. */
const largestShareOfPlane = 0.25;

/**
 * Exposure that the search gives a layout: the longest that neither smears nor saturates with the usual margin.
 *
 * Model    smear ≤ 0.88 of the task's blur; white with 3 σ ≤ 0.88 of saturation where it is brightest; at most a quarter
 *          of the cycle time a plane has
 * Formula  K·S + 3·√(K²·(σ_d² + S) + 1/12) = limit − offset, solved for the charge S
 * Returns  ms, to three digits, rounded down
 * Trust    a lamp that can be strobed allows a shorter one: give its irradiance while it is on.
 */
export function searchExposureMs({
  station,
  largestMagnification,
  brightestUwPerCm2,
  planeCount,
}: {
  station: Station;
  largestMagnification: number;
  brightestUwPerCm2: number;
  planeCount: number;
}): number {
  const { task, parts } = station;
  const share = 1 - remedyShare;
  const smearMmPerMs = (task.speedMmPerS * largestMagnification) / 1000;
  const bySmearMs =
    smearMmPerMs > 0
      ? (share * task.blurDiscMaxPx * parts.sensor.pixelPitchUm) / 1000 / smearMmPerMs
      : Number.POSITIVE_INFINITY;
  const byCycleMs = (largestShareOfPlane * task.cycleTimeMs) / planeCount;
  const photonsPerMs = photonsPerPixel({
    irradianceUwPerCm2: brightestUwPerCm2,
    exposureMs: 1,
    wavelengthNm: parts.light.wavelengthNm,
    pixelPitchUm: parts.sensor.pixelPitchUm,
  });
  const byWellMs = brightestChargeE(station, share) / (parts.sensor.quantumEfficiency * photonsPerMs);
  return threeDigitsDown(Math.min(bySmearMs, byCycleMs, byWellMs, 10_000));
}

/** Charge of white that reaches a share of saturation with three standard deviations of noise. */
function brightestChargeE(station: Station, share: number): number {
  const { systemGainDnPerE: gain, darkNoiseE, darkOffsetDn, saturationCapacityE } = sensorNoiseModelOf(station);
  const limitDn = share * (darkOffsetDn + gain * saturationCapacityE) - darkOffsetDn;
  const half = gain * limitDn + 4.5 * gain * gain;
  const rest = limitDn * limitDn - 9 * (gain * gain * darkNoiseE * darkNoiseE + 1 / 12);
  return Math.max(1, (half - Math.sqrt(Math.max(0, half * half - gain * gain * rest))) / (gain * gain));
}

function threeDigitsDown(value: number): number {
  const unit = 10 ** (Math.floor(Math.log10(value)) - 2);
  return Number((Math.floor(value / unit) * unit).toPrecision(3));
}
