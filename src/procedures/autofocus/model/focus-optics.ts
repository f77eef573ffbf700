import { mmFromNm, mmFromUm } from '../../../base/index.js';
import { wavesOfBlurRadius } from '../../../image/index.js';
import {
  defocusOtf,
  defocusWavesFromPower,
  pupilView,
  vergenceFromPupilPerMm,
  workingDistanceAt,
} from '../../../optics/index.js';
import {
  layoutModelOf,
  middleDistanceMm,
  powerLimitsOf,
  predictedPixelMm,
  type Station,
} from '../../../station/index.js';

/** What the model-based focus knows of the optics. */
export interface FocusOptics {
  /** Frequency from which on the optics pass nothing, in cycles per pixel. */
  cutoffPerPx: number;
  /** Where that is not known: cutoffs to try beside it. */
  otherCutoffsPerPx?: readonly number[];
  /** Radius of the blur disc that a power one dioptre off makes. */
  blurRadiusPerDptPx: number;
  /** How far that may be off: 1σ of its natural logarithm. */
  blurRadiusLogStd: number;
  /** What the blur may be off in one frame, beyond that scale: 1σ, relative. */
  blurErrorRatio?: number;
  /** What the model's power may be off for each pixel of blur, relative. */
  modelErrorPerPx?: number;
  /** Spherical aberration W040 that may be there: 1σ. */
  sphericalStdWaves?: number;
  /** Blur per dioptre grows by this part for each dioptre above best focus, as far as `slopeRatio` does not say so: 1σ. */
  asymmetryStdPerDpt?: number;
  /** Drawn size goes as 1/(1 − D·P), see fitBreathing: D, and how far it may be off, 1σ. */
  breathing?: { usualPerDpt: number; stdPerDpt: number };
  /** Width of the lens's hysteresis over the known one: 1σ about 1. */
  playRatioStd?: number;
  /** Blur per dioptre over the middle's, for a frame at one power and best focus at another; null: the same everywhere. */
  slopeRatio?: ((powers: { focalPowerDpt: number; bestFocusDpt: number }) => number) | null;
}

/** Optics with what is usual where nothing was said. */
export type CompleteFocusOptics = Required<FocusOptics>;

/** Radius of the blur disc that a hypothesis expects, signed: negative below best focus. */
export const blurRadiusPx = (
  { slopeRatio }: Pick<CompleteFocusOptics, 'slopeRatio'>,
  {
    blurRadiusPerDptPx,
    focalPowerDpt,
    bestFocusDpt,
    asymmetryPerDpt,
  }: { blurRadiusPerDptPx: number; focalPowerDpt: number; bestFocusDpt: number; asymmetryPerDpt: number },
): number =>
  blurRadiusPerDptPx *
  (focalPowerDpt - bestFocusDpt) *
  (1 + asymmetryPerDpt * (focalPowerDpt - bestFocusDpt)) *
  (slopeRatio === null ? 1 : slopeRatio({ focalPowerDpt, bestFocusDpt }));

/** A lens's gain and a layout's lengths are seldom known better. */
const stationLogStd = 0.03;
/** As a tunable lens does that stands up to some 15 mm before the fixed lens's pupil. */
const usualAsymmetryStdPerDpt = 0.012;
const stationPlayRatioStd = 0.25;
const unknownPlayRatioStd = 0.6;
const stationErrorPerPx = 0.001;
const unknownErrorPerPx = 0.012;
/** As a lens that stands up to some 50 mm before the fixed lens's pupil. */
const unknownBreathing = { usualPerDpt: 0.01, stdPerDpt: 0.02 };
const stationBreathingStdPerDpt = 0.002;
const stationErrorRatio = 0.005;
const unknownErrorRatio = 0.02;
/** Usual lenses are sharp to a fourteenth of a wave rms; a third of that, as W040. Common practice, no source. */
const usualSphericalStdWaves = 0.25;
/** A cutoff at which most machine-vision optics are used: f/4 to f/8 on pixels of 3 to 4 µm; common practice, no source. */
const usualCutoffPerPx = 1.1;
/** Half of that and twice as much: f/8 on pixels of 2.4 µm, f/4 on 4.8 µm, at 0.5 µm; common practice, no source. */
const otherCutoffsPerPx = [0.6, 2.1];
/** Blur radius over half the lens's range of power: from a lens that hardly blurs to one that blurs everything. */
const usualBlurAtEndPx = 30;
const unknownLogStd = 0.75;

/** What is usual where it was not said: as for optics of which nothing else is known. */
export const completeOptics = (optics: FocusOptics): CompleteFocusOptics => ({
  otherCutoffsPerPx: [],
  blurErrorRatio: unknownErrorRatio,
  modelErrorPerPx: unknownErrorPerPx,
  sphericalStdWaves: usualSphericalStdWaves,
  asymmetryStdPerDpt: usualAsymmetryStdPerDpt,
  breathing: unknownBreathing,
  playRatioStd: unknownPlayRatioStd,
  slopeRatio: null,
  ...optics,
});

/**
 * Optics of a station.
 *
 * Model    paraxial layout; blur disc R = 4·W20/cutoff, W20 from the pupil at each power for an object where each best focus lies
 * Trust    the cutoff is that in the middle of the lens's range; the std of the scale, 3 %, stands for the lens's gain.
 */
export function stationFocusOptics(station: Station): FocusOptics {
  const model = layoutModelOf(station);
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const { wavelengthNm } = station.parts.light;
  const middleDpt = (powerMinDpt + powerMaxDpt) / 2;
  const view = pupilView({ model, focalPowerDpt: middleDpt });
  const cutoffPerPx = mmFromUm(station.parts.sensor.pixelPitchUm) / (mmFromNm(wavelengthNm) * view.workingFNumber);
  const stepDpt = (powerMaxDpt - powerMinDpt) / (2 * slopeSteps);
  /** Waves of defocus per dioptre, half a step of the grid apart at least. */
  const wavesPerDpt = (focalPowerDpt: number, bestFocusDpt: number): number | null => {
    const focused = workingDistanceAt({ model, focalPowerDpt: bestFocusDpt });
    if (focused.kind !== 'real') return null;
    const { workingDistanceMm } = focused;
    const wavesAt = (powerDpt: number) => {
      const at = pupilView({ model, focalPowerDpt: powerDpt });
      const vergencePerMm = vergenceFromPupilPerMm({ view: at, model, workingDistanceMm });
      return defocusWavesFromPower({
        pupilDiameterMm: at.diameterMm,
        powerChangeDpt: 1000 * (vergencePerMm - at.focusVergencePerMm),
        wavelengthNm,
      });
    };
    const off = Math.abs(focalPowerDpt - bestFocusDpt);
    if (off >= stepDpt / 2) return Math.abs(wavesAt(focalPowerDpt) / off);
    const [low, high] = [wavesAt(focalPowerDpt - stepDpt), wavesAt(focalPowerDpt + stepDpt)];
    return Math.abs(high - low) / (2 * stepDpt);
  };
  const middle = wavesPerDpt(middleDpt, middleDpt) ?? wavesPerDpt(middleDpt, powerMaxDpt) ?? 1;
  return {
    cutoffPerPx,
    blurRadiusPerDptPx: middle / wavesOfBlurRadius({ blurRadiusPx: 1, cutoffPerPx }),
    blurRadiusLogStd: stationLogStd,
    blurErrorRatio: stationErrorRatio,
    modelErrorPerPx: stationErrorPerPx,
    sphericalStdWaves: usualSphericalStdWaves,
    asymmetryStdPerDpt: 0,
    breathing: { usualPerDpt: breathingPerDpt(station), stdPerDpt: stationBreathingStdPerDpt },
    playRatioStd: stationPlayRatioStd,
    slopeRatio: betweenGridPoints({
      powerMinDpt,
      powerMaxDpt,
      ratioAt: (focalPowerDpt, bestFocusDpt) => (wavesPerDpt(focalPowerDpt, bestFocusDpt) ?? middle) / middle,
    }),
  };
}

/** D of the drawn size 1/(1 − D·P), from the ends of the lens's range at the middle distance. */
function breathingPerDpt(station: Station): number {
  const { powerMinDpt, powerMaxDpt } = powerLimitsOf(station);
  const [low, high] = [powerMinDpt, powerMaxDpt].map((focalPowerDpt) =>
    predictedPixelMm({ station, focalPowerDpt, workingDistanceMm: middleDistanceMm(station) }),
  ) as [number, number];
  return (high - low) / (high * powerMinDpt - low * powerMaxDpt);
}

const slopeSteps = 6;

/** A smooth function of two powers, asked on a grid over the range and linear between; beyond the range as at its end. */
function betweenGridPoints({
  powerMinDpt,
  powerMaxDpt,
  ratioAt,
}: {
  powerMinDpt: number;
  powerMaxDpt: number;
  ratioAt: (focalPowerDpt: number, bestFocusDpt: number) => number;
}): NonNullable<FocusOptics['slopeRatio']> {
  const range = powerMaxDpt - powerMinDpt;
  const at = (i: number) => powerMinDpt + (i / slopeSteps) * range;
  const size = slopeSteps + 1;
  const grid = Float64Array.from({ length: size * size }, (_, i) => ratioAt(at(Math.floor(i / size)), at(i % size)));
  const place = (dpt: number) => Math.max(0, Math.min(slopeSteps, ((dpt - powerMinDpt) / range) * slopeSteps));
  return ({ focalPowerDpt, bestFocusDpt }) => {
    const x = place(focalPowerDpt);
    const y = place(bestFocusDpt);
    const i = Math.min(slopeSteps - 1, Math.floor(x));
    const j = Math.min(slopeSteps - 1, Math.floor(y));
    const [u, v] = [x - i, y - j];
    const from = i * size + j;
    return (
      (1 - u) * ((1 - v) * grid[from]! + v * grid[from + 1]!) +
      u * ((1 - v) * grid[from + size]! + v * grid[from + size + 1]!)
    );
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
    otherCutoffsPerPx,
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
