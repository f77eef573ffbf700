import type { Estimate } from '../../base/index.js';
import { type DarkSignal, darkSignal } from './dark-signal.js';
import type { LevelNoise } from './level-noise.js';
import { responseLine } from './response-line.js';
import { type SaturationPoint, saturationPoint, usableLevels } from './saturation-point.js';
import { fitStraightLine, type StraightLine } from './straight-line.js';

/** A level of light (or of none) with its noise. */
export interface NoiseLevel extends LevelNoise {
  /** Null where it is not known. */
  exposureMs: number | null;
  /** Taken without light. */
  dark: boolean;
}

/** Why no photon-transfer fit was made. */
export type PhotonTransferRefusal = 'too-few-levels' | 'no-slope';

/** What the photon-transfer method says about a camera. Estimates carry one standard uncertainty; null with a note where not to be had. */
export interface PhotonTransferMeasured {
  kind: 'measured';
  /** Overall system gain K. */
  gainDnPerE: Estimate;
  /** Temporal dark noise at zero exposure σ_d0, rounding taken off. */
  readNoiseE: Estimate | null;
  blackLevelDn: Estimate | null;
  /** Grey value where the temporal variance is largest; null where the levels do not reach it. */
  saturationDn: Estimate | null;
  /** Charge at that level (EMVA 1288 saturation capacity). */
  saturationCapacityE: Estimate | null;
  /** Charge at which pixels stop: from a level where nearly all stand at the limit. */
  fullWellE: Estimate | null;
  darkCurrentEPerS: Estimate | null;
  /** Spatial non-uniformity in the dark, and of the response (as a fraction). */
  darkNonUniformityE: Estimate | null;
  responseNonUniformity: Estimate | null;
  /** Largest departure of the mean from a straight line over exposure, as a fraction of the mean. */
  responseDeviationFraction: number | null;
  fit: {
    /** Levels used, dark ones included, and their range of means. */
    levelCount: number;
    lowDn: number;
    highDn: number;
    /** Near 1: the line explains the variances within their uncertainty. */
    reducedChiSquare: number | null;
    /** rms of (variance − line)/line. */
    residualFraction: number;
    /** Of the line variance = intercept + gain · mean. */
    interceptDn2: number;
  };
  cautions: string[];
}

/** The fit, or an honest refusal. */
export type PhotonTransfer =
  | PhotonTransferMeasured
  | { kind: 'refused'; reason: PhotonTransferRefusal; message: string; remedy: string };

/** Variance of rounding to whole grey values. */
const roundingVarianceDn2 = 1 / 12;
/** Below this temporal noise in the dark, rounding hides it (EMVA 1288, from memory). */
const leastDarkNoiseDn = 0.24;
const fewestLevels = 3;

/**
 * Gain, read noise, saturation and non-uniformity of a camera from levels of even light: the photon transfer method.
 *
 * Model    EMVA 1288 linear camera: σ² = K²·σ_d0² + K·(µ − µ_black) + 1/12, dark current included in µ
 * Formula  weighted straight line of temporal variance over mean, from dark to 70 % of the saturation; K its slope;
 *          σ_d0² = [line at µ_black − 1/12]/K²; saturation capacity = (µ of the largest variance − µ_black)/K; full well the same
 *          with µ of a level at the limit;
 *          PRNU = √(s²_50 − s²_dark)/(µ_50 − µ_dark), DSNU = s_dark/K
 * Input    at least three levels, dark ones among them if read noise without known exposures is wanted
 * Returns  refused with fewer levels, or where the variance does not rise with the mean
 * Trust    `fit.residualFraction` above a few per cent: gamma, noise reduction, flicker or movement; see `cautions`.
 * Source   EMVA Standard 1288, Release 3.1 and 4.0 Linear, photon transfer method, 0 … 70 % of saturation (from memory; derived
 *          again)
 * Checked  recovery: simulated frames; reference: numpy, references/noise
 */
export function photonTransfer(levels: readonly NoiseLevel[]): PhotonTransfer {
  const lights = levels.filter(({ dark }) => !dark).sort((a, b) => a.meanDn - b.meanDn);
  const darks = levels.filter(({ dark }) => dark);
  const saturation = saturationPoint(lights);
  const dark = darkSignal(darks);
  const used = usableLevels({ lights, saturation, blackDn: dark?.black.value ?? 0 });
  const points = [...darks, ...used];
  if (points.length < fewestLevels || new Set(points.map(({ meanDn }) => meanDn)).size < 2) {
    return {
      kind: 'refused',
      reason: 'too-few-levels',
      message: `${points.length} usable level${points.length === 1 ? '' : 's'} of ${levels.length}; ${fewestLevels} are needed, neither clipped at zero nor saturated.`,
      remedy: 'Take at least two frames at each of five or more exposures from dark to bright, and in the dark.',
    };
  }
  const line = fitStraightLine(
    points.map(({ meanDn, temporalVarianceDn2, temporalVarianceStdDn2 }) => ({
      x: meanDn,
      y: temporalVarianceDn2,
      // A level whose frames are all alike still has the uncertainty of rounding.
      std: Math.max(temporalVarianceStdDn2, 1e-4 * roundingVarianceDn2),
    })),
  );
  const gainStd = Math.sqrt(line.slopeVariance);
  if (!(line.slope > 3 * gainStd)) {
    return {
      kind: 'refused',
      reason: 'no-slope',
      message: `The temporal variance does not rise with the mean: slope ${line.slope.toPrecision(3)} ± ${gainStd.toPrecision(2)} DN/e.`,
      remedy:
        'Check that the light changes between levels, that frames of a level are not copies, and that no noise filter is on.',
    };
  }
  return measured({ line, gainStd, lights, used, points, darks, dark, saturation });
}

function measured({
  line,
  gainStd,
  lights,
  used,
  points,
  darks,
  dark,
  saturation,
}: {
  line: StraightLine;
  gainStd: number;
  lights: readonly NoiseLevel[];
  used: readonly NoiseLevel[];
  points: readonly NoiseLevel[];
  darks: readonly NoiseLevel[];
  dark: DarkSignal | null;
  saturation: SaturationPoint | null;
}): PhotonTransferMeasured {
  const gain = line.slope;
  const response = responseLine(used);
  const blackLevelDn = dark?.black ?? response?.black ?? null;
  const perE = (value: number, std: number): Estimate => ({
    value: value / gain,
    std: Math.hypot(std / gain, (value * gainStd) / gain ** 2),
  });
  const means = points.map(({ meanDn }) => meanDn);
  const residuals = points.map((p) => p.temporalVarianceDn2 / (line.intercept + gain * p.meanDn) - 1);
  const readNoiseE = blackLevelDn && readNoise(line, blackLevelDn);
  const residualFraction = Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / residuals.length);
  return {
    kind: 'measured',
    gainDnPerE: { value: gain, std: gainStd },
    readNoiseE,
    blackLevelDn,
    saturationDn: saturation && { value: saturation.meanDn, std: saturation.stdDn },
    saturationCapacityE:
      saturation && blackLevelDn
        ? perE(saturation.meanDn - blackLevelDn.value, Math.hypot(saturation.stdDn, blackLevelDn.std ?? 0))
        : null,
    fullWellE:
      saturation?.plateauDn && blackLevelDn
        ? perE(saturation.plateauDn - blackLevelDn.value, blackLevelDn.std ?? 0)
        : null,
    darkCurrentEPerS: dark?.riseDnPerS ? perE(dark.riseDnPerS.value, dark.riseDnPerS.std ?? 0) : null,
    ...nonUniformity({ darks, lights, gain, saturation, blackDn: blackLevelDn?.value ?? null }),
    responseDeviationFraction: response?.deviationFraction ?? null,
    fit: {
      levelCount: points.length,
      lowDn: Math.min(...means),
      highDn: Math.max(...means),
      reducedChiSquare: line.reducedChiSquare,
      residualFraction,
      interceptDn2: line.intercept,
    },
    cautions: cautionsOf({
      points,
      darks,
      lights,
      saturation,
      blackLevelDn,
      readNoiseE,
      gain,
      residualFraction,
      response,
    }),
  };
}

function readNoise(line: StraightLine, black: Estimate): Estimate {
  const gain = line.slope;
  const atBlack = line.intercept + gain * black.value;
  const variance =
    line.interceptVariance +
    black.value ** 2 * line.slopeVariance +
    2 * black.value * line.covariance +
    (gain * (black.std ?? 0)) ** 2;
  const squareE2 = (atBlack - roundingVarianceDn2) / gain ** 2;
  const squareStdE2 = Math.sqrt(variance) / gain ** 2;
  if (squareE2 <= squareStdE2) {
    const note = 'not told from rounding: an upper bound of the uncertainty';
    return { value: Math.sqrt(Math.max(0, squareE2)), std: Math.sqrt(squareStdE2), note };
  }
  const value = Math.sqrt(squareE2);
  const ofGain = (value * Math.sqrt(line.slopeVariance)) / gain;
  return { value, std: Math.hypot(squareStdE2 / (2 * value), ofGain) };
}

function nonUniformity({
  darks,
  lights,
  gain,
  saturation,
  blackDn,
}: {
  darks: readonly NoiseLevel[];
  lights: readonly NoiseLevel[];
  gain: number;
  saturation: SaturationPoint | null;
  blackDn: number | null;
}): Pick<PhotonTransferMeasured, 'darkNonUniformityE' | 'responseNonUniformity'> {
  const shortest = [...darks].sort((a, b) => (a.exposureMs ?? 0) - (b.exposureMs ?? 0))[0];
  const rootOf = (variance: number, std: number, per: number): Estimate => {
    const value = Math.sqrt(Math.max(0, variance));
    return {
      value: value / per,
      std: (value > 0 ? Math.min(std / (2 * value), Math.sqrt(std)) : Math.sqrt(std)) / per,
    };
  };
  const darkNonUniformityE = shortest
    ? rootOf(shortest.spatialVarianceDn2, shortest.spatialVarianceStdDn2, gain)
    : null;
  if (blackDn === null || lights.length === 0) return { darkNonUniformityE, responseNonUniformity: null };
  const top = saturation?.meanDn ?? lights.at(-1)!.meanDn;
  const half = (blackDn + top) / 2;
  const middle = lights.reduce((a, b) => (Math.abs(b.meanDn - half) < Math.abs(a.meanDn - half) ? b : a));
  const variance = middle.spatialVarianceDn2 - (shortest?.spatialVarianceDn2 ?? 0);
  return {
    darkNonUniformityE,
    responseNonUniformity: rootOf(variance, middle.spatialVarianceStdDn2, middle.meanDn - blackDn),
  };
}

function cautionsOf({
  points,
  darks,
  lights,
  saturation,
  blackLevelDn,
  readNoiseE,
  gain,
  residualFraction,
  response,
}: {
  points: readonly NoiseLevel[];
  darks: readonly NoiseLevel[];
  lights: readonly NoiseLevel[];
  saturation: SaturationPoint | null;
  blackLevelDn: Estimate | null;
  readNoiseE: Estimate | null;
  gain: number;
  residualFraction: number;
  response: ReturnType<typeof responseLine>;
}): string[] {
  const cautions: string[] = [];
  if (residualFraction > 0.05)
    cautions.push(
      `The variance leaves the straight line by ${(100 * residualFraction).toFixed(0)} % rms: look for gamma, noise reduction, flicker or movement.`,
    );
  if (response && response.deviationFraction > 0.02)
    cautions.push(
      `The mean leaves a straight line over exposure by up to ${(100 * response.deviationFraction).toFixed(1)} %: gamma, or exposures that are not as written.`,
    );
  if (darks.some(({ blackFraction }) => blackFraction > 0.002))
    cautions.push(
      'Dark frames are clipped at zero: read noise and dark non-uniformity come out too small. Raise the black level.',
    );
  if (darks.length === 0 && blackLevelDn === null)
    cautions.push('Without dark frames or exposure times the black level is not known: no read noise, no full well.');
  if (readNoiseE && readNoiseE.value * gain < leastDarkNoiseDn)
    cautions.push(
      `The dark noise is below ${leastDarkNoiseDn} DN: rounding hides it. Use a larger bit depth or gain for the read noise.`,
    );
  if (saturation === null) {
    cautions.push('No level is saturated: the full well is not reached. Add longer exposures.');
  } else if (saturation.plateauDn === null) {
    cautions.push('No level is saturated throughout: the full well is not told. Add a longer exposure.');
  } else if (lights.at(-1)!.saturatedFraction > 0.5) {
    cautions.push('Saturation is that of the grey scale, not of the pixels: the full well may be larger.');
  }
  if (points.some(({ flickerStdDn, temporalVarianceDn2 }) => flickerStdDn ** 2 > temporalVarianceDn2))
    cautions.push(
      'The light flickers by more than the noise of a pixel; what is common to a frame has been taken off.',
    );
  return cautions;
}
