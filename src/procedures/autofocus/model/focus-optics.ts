import { mmFromNm, mmFromUm } from '../../../base/index.js';
import { wavesOfBlurRadius } from '../../../image/index.js';
import { defocusOtf, defocusWavesFromPower, pupilView, vergenceFromPupilPerMm } from '../../../optics/index.js';
import { layoutModelOf, powerLimitsOf, type Station } from '../../../station/index.js';

/** What the model-based focus knows of the optics. */
export interface FocusOptics {
  /** Frequency from which on the optics pass nothing, in cycles per pixel. */
  cutoffPerPx: number;
  /** Radius of the blur disc that a power one dioptre off makes. */
  blurRadiusPerDptPx: number;
  /** How far that may be off: 1σ of its natural logarithm. */
  blurRadiusLogStd: number;
}

/** A lens's gain and a layout's lengths are seldom known better. */
const stationLogStd = 0.03;
/** A cutoff at which most machine-vision optics are used: f/4 to f/8 on pixels of 3 to 4 µm; common practice, no source. */
const usualCutoffPerPx = 1.1;
/** Blur radius over half the lens's range of power: from a lens that hardly blurs to one that blurs everything. */
const usualBlurAtEndPx = 30;
const unknownLogStd = 0.75;

/**
 * Optics of a station.
 *
 * Model    paraxial layout in the middle of the lens's range; blur disc R = 4·W20/cutoff, W20 per dpt from the pupil
 * Trust    blur per dpt changes a few per cent over the range; the std of its logarithm, 0.03, stands for that and the gain.
 */
export function stationFocusOptics(station: Station): FocusOptics {
  const model = layoutModelOf(station);
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const { wavelengthNm } = station.parts.light;
  const middleDpt = (powerMinDpt + powerMaxDpt) / 2;
  const view = pupilView({ model, focalPowerDpt: middleDpt });
  const cutoffPerPx = mmFromUm(station.parts.sensor.pixelPitchUm) / (mmFromNm(wavelengthNm) * view.workingFNumber);
  const workingDistanceMm = (station.task.nearMm + station.task.farMm) / 2;
  const wavesAt = (focalPowerDpt: number) => {
    const at = pupilView({ model, focalPowerDpt });
    const vergencePerMm = vergenceFromPupilPerMm({ view: at, model, workingDistanceMm });
    return defocusWavesFromPower({
      pupilDiameterMm: at.diameterMm,
      powerChangeDpt: 1000 * (vergencePerMm - at.focusVergencePerMm),
      wavelengthNm,
    });
  };
  const stepDpt = (powerMaxDpt - powerMinDpt) / 10;
  const wavesPerDpt = Math.abs(wavesAt(middleDpt + stepDpt) - wavesAt(middleDpt - stepDpt)) / (2 * stepDpt);
  return {
    cutoffPerPx,
    blurRadiusPerDptPx: wavesPerDpt / wavesOfBlurRadius({ blurRadiusPx: 1, cutoffPerPx }),
    blurRadiusLogStd: stationLogStd,
  };
}

/** Optics of which nothing is known but the lens's range of power. */
export function unknownFocusOptics({
  powerMinDpt,
  powerMaxDpt,
}: {
  powerMinDpt: number;
  powerMaxDpt: number;
}): FocusOptics {
  return {
    cutoffPerPx: usualCutoffPerPx,
    blurRadiusPerDptPx: usualBlurAtEndPx / ((powerMaxDpt - powerMinDpt) / 2),
    blurRadiusLogStd: unknownLogStd,
  };
}

const halfWidthFrequencyPerPx = 0.25;
const halfWidthContrast = 0.8;

/**
 * Half-width of the depth of field as a blur radius: where the contrast at 0.25 cycles per pixel falls to 80 % of that in
 * focus.
 *
 * Returns  px; for a cutoff at or below that frequency, the radius that halves the information the sensor gets: cutoff⁻¹/4.
 */
export function halfWidthBlurRadiusPx(cutoffPerPx: number): number {
  const s = halfWidthFrequencyPerPx / cutoffPerPx;
  if (s >= 1) return 0.25 / cutoffPerPx;
  const contrast = (blurRadiusPx: number) =>
    defocusOtf({ normalisedFrequency: s, defocusWaves: wavesOfBlurRadius({ blurRadiusPx, cutoffPerPx }) });
  const wanted = halfWidthContrast * contrast(0);
  let inside = 0;
  let outside = 0.1;
  while (contrast(outside) > wanted) outside *= 1.5;
  for (let halving = 0; halving < 40; halving++) {
    const middle = (inside + outside) / 2;
    if (contrast(middle) > wanted) inside = middle;
    else outside = middle;
  }
  return inside;
}
