import { type Random, seededRandom } from '../base/index.js';
import type { Station } from '../station/index.js';

/** What was built differently from the station file: tests read it from the bench’s `truth`, procedures never see it. */
export interface BuildErrors {
  /** True over nominal ring distance; without effect when the ring stands at infinity. */
  ringDistanceRatio: number;
  /** True less nominal length of the spacer. */
  spacerMm: number;
  /** True less nominal focal length of the fixed lens. */
  focalLengthMm: number;
  /** Slope of true over commanded focal power. */
  lensGain: number;
  /** True focal power at a command of 0 dpt, at the reference temperature. */
  lensOffsetDpt: number;
  /** Full width between rising and falling approach. */
  hysteresisDpt: number;
  /** 1σ of the power from one move to the next. */
  repeatabilityDpt: number;
  temperatureCoefficientDptPerDegC: number;
  /** Part of each move that follows slowly, over the step. */
  creepRatio: number;
  /** Slow drift of the power with time. */
  driftDptPerS: number;
  /** Primary spherical aberration W040 at the pupil's edge, with the lens focused where its variance is least. */
  sphericalAberrationNm: number;
  /** Reading less truth of the lens's thermometer. */
  temperatureReadingDegC: number;
  /** Placement of the target, 1σ. */
  placementStdMm: number;
  /** Further loss of light at the corner of the field, beside that of pupils and cos⁴. */
  cornerLossRatio: number;
  deadPixelCount: number;
  hotPixelCount: number;
  /** Photo response non-uniformity, 1σ. */
  nonUniformityRatio: number;
  /** Dark signal non-uniformity, 1σ. */
  darkNonUniformityE: number;
}

/** Balanced rms wavefront error of W040 = 1, in the same unit: 1 / (6·√5). */
const rmsOfSpherical = 1 / (6 * Math.sqrt(5));
/** Tolerances are drawn normally and cut here: a part further out would have failed inspection. */
const cutOffStd = 2.5;

/**
 * Draws the errors of one built station from the tolerances of its parts.
 *
 * Model    normal with the part's 1σ, cut at 2.5 σ; hysteresis and repeatability within 30 % of the datasheet; spherical aberration takes 30 to 80 % of the parts' rms wavefront error
 * Input    the seed; by default the station's own rehearsal seed. The same seed draws the same errors.
 * Returns  a plain record, so that what a procedure found can be held against the truth.
 * Trust    how creep, drift, thermometer and pixel defects are spread is common practice, no source.
 */
export function drawBuildErrors({
  station,
  seed = station.rehearsal.seed,
}: {
  station: Station;
  seed?: number;
}): BuildErrors {
  const { fixedLens, tunableLens, spacer, light, sensor } = station.parts;
  const random = seededRandom(seed).fork('build-errors');
  const draw = (label: string, std: number) => std * cutNormal(random.fork(label));
  const between = (label: string, low: number, high: number) => low + (high - low) * random.fork(label).uniform();
  const rmsWaves = Math.hypot(fixedLens.wavefrontErrorRmsWaves, tunableLens.wavefrontErrorRmsWaves);
  const sphericalWaves = (between('spherical', 0.3, 0.8) * rmsWaves) / rmsOfSpherical;
  return {
    ringDistanceRatio: 1 + draw('ring', fixedLens.tolerance.ringDistanceRelative),
    spacerMm: draw('spacer', spacer.tolerance.lengthMm),
    focalLengthMm: draw('focal-length', fixedLens.tolerance.focalLengthMm),
    lensGain: 1 + draw('lens-gain', tunableLens.tolerance.gainRelative),
    lensOffsetDpt: draw('lens-offset', tunableLens.tolerance.offsetDpt),
    hysteresisDpt: tunableLens.hysteresisDpt * between('hysteresis', 0.7, 1.3),
    repeatabilityDpt: tunableLens.repeatabilityDpt * between('repeatability', 0.7, 1.3),
    temperatureCoefficientDptPerDegC:
      tunableLens.temperatureCoefficientDptPerDegC *
      (1 + draw('temperature-coefficient', tunableLens.tolerance.temperatureCoefficientRelative)),
    creepRatio: Math.abs(draw('creep', 0.002)),
    driftDptPerS: draw('drift', 2e-6),
    sphericalAberrationNm: light.wavelengthNm * sphericalWaves * (random.fork('sign').uniform() < 0.5 ? -1 : 1),
    temperatureReadingDegC: draw('thermometer', station.commissioning.temperatureStdDegC),
    placementStdMm: station.commissioning.distanceStdMm,
    cornerLossRatio: between('corner', 0.02, 0.08),
    deadPixelCount: defectCount(random.fork('dead'), sensor),
    hotPixelCount: defectCount(random.fork('hot'), sensor),
    nonUniformityRatio: sensor.nonUniformity,
    darkNonUniformityE: 0,
  };
}

/** The errors of a station built exactly as its file says, with an ideal lens and a sensor without defects. */
export function noBuildErrors(): BuildErrors {
  return {
    ringDistanceRatio: 1,
    spacerMm: 0,
    focalLengthMm: 0,
    lensGain: 1,
    lensOffsetDpt: 0,
    hysteresisDpt: 0,
    repeatabilityDpt: 0,
    temperatureCoefficientDptPerDegC: 0,
    creepRatio: 0,
    driftDptPerS: 0,
    sphericalAberrationNm: 0,
    temperatureReadingDegC: 0,
    placementStdMm: 0,
    cornerLossRatio: 0,
    deadPixelCount: 0,
    hotPixelCount: 0,
    nonUniformityRatio: 0,
    darkNonUniformityE: 0,
  };
}

function cutNormal(random: Random): number {
  for (;;) {
    const value = random.normal();
    if (Math.abs(value) <= cutOffStd) return value;
  }
}

/** About ten defects in a million pixels. */
const defectCount = (random: Random, { widthPx, heightPx }: { widthPx: number; heightPx: number }): number =>
  Math.round(widthPx * heightPx * 1e-5 * (0.5 + random.uniform()));
