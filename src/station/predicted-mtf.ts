import { perMmFromPerPx } from '../base/index.js';
import { layoutDefocusWaves, systemMtf, traceSystem } from '../optics/index.js';
import { layoutModelOf } from './layout-of-station.js';
import { predictedFocalPowerDpt } from './predictions.js';
import type { Station } from './schema.js';
import { sharpnessStagesOf } from './sharpness-stages.js';

/**
 * MTF that the station as written should show on its axis.
 *
 * Model    systemMtf with the traced working f-number: diffraction with defocus, axial colour, coma by gravity, wavefront
 *          error of the parts, pixel, and (if `moving`) motion; axis only
 * Input    frequencies in cycles per pixel; `focalPowerDpt` null: the power that focuses the distance
 * Returns  one value per frequency, 0 … 1; `null` where no power focuses the distance.
 * Throws   RangeError for a distance or power that is not finite, or a negative frequency.
 * Trust    coma counts in its worst orientation; field curvature lowers it further; a camera's sharpening raises it.
 */
export function predictedMtf({
  station,
  workingDistanceMm,
  focalPowerDpt = null,
  frequenciesPerPx,
  moving,
}: {
  station: Station;
  workingDistanceMm: number;
  focalPowerDpt?: number | null;
  frequenciesPerPx: readonly number[];
  moving: boolean;
}): number[] | null {
  const model = layoutModelOf(station);
  const powerDpt = focalPowerDpt ?? predictedFocalPowerDpt({ station, workingDistanceMm });
  if (powerDpt === null) return null;
  const system = traceSystem({ model, focalPowerDpt: powerDpt });
  const { magnification } = system;
  const stages = sharpnessStagesOf({ station, model, focalPowerDpt: powerDpt, magnification, moving });
  const defocusWaves =
    focalPowerDpt === null
      ? 0
      : layoutDefocusWaves({ model, focalPowerDpt, workingDistanceMm, wavelengthNm: stages.wavelengthNm });
  return frequenciesPerPx.map((frequencyPerPx) =>
    systemMtf({
      ...stages,
      spatialFrequencyPerMm: perMmFromPerPx({ frequencyPerPx, pixelPitchUm: station.parts.sensor.pixelPitchUm }),
      workingFNumber: system.workingFNumber,
      defocusWaves,
    }),
  );
}
