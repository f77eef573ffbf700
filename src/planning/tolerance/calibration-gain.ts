import { choleskyFactor, choleskyInverse, mmPerM } from '../../base/index.js';
import { focalPowerAt } from '../../optics/index.js';
import { type BuildValues, buildTolerancesOf, layoutAsBuilt, nominalBuild, type Station } from '../../station/index.js';
import { calibrationPointStdDpt } from '../focus-budget.js';

/** Distances of a calibration that nobody chose. */
const defaultDistanceCount = 7;
/** What the distance calibration fits. */
const fittedNames: readonly string[] = [
  'powerOffsetDpt',
  'powerGain',
  'ringDistanceRelative',
  'spacerMm',
  'focalLengthMm',
];
/** A point without any uncertainty, so that its weight stays finite. */
const leastPointStdDpt = 1e-6;

/** A distance calibration to first order. */
export interface CalibrationGain {
  distancesMm: number[];
  /** Uncertainty of best focus at each of them. */
  pointStdDpt: number[];
  /** gain[plane][distance]: change of the plane's command per dpt found at the distance. */
  gain: number[][];
}

/**
 * What a distance calibration makes of what it finds.
 *
 * Model    the fit of the distance calibration (maximum a posteriori over lens offset and gain, ring, spacer and focal
 *          length, priors from the tolerances), linear about the layout as written
 * Formula  A_p (A_cᵀ W A_c + Λ)⁻¹ A_cᵀ W, A the slopes of the needed command at planes and at calibration distances
 * Returns  distances as the station file lists them, or seven evenly spaced in vergence; no gain where nothing can be fitted.
 * Checked  property: an error of offset, spacer or ring is won back at every plane, tests/planning/tolerance.test.ts
 */
export function calibrationGain(station: Station, planesMm: readonly number[]): CalibrationGain {
  const distancesMm = calibrationDistancesMm(station);
  const pointStdDpt = distancesMm.map((mm) => Math.max(leastPointStdDpt, pointStdAt(station, mm)));
  const priors = buildTolerancesOf(station)
    .filter(({ name }) => fittedNames.includes(name))
    .map((p) =>
      p.name === 'powerOffsetDpt' ? { ...p, std: Math.hypot(p.std, station.parts.tunableLens.hysteresisDpt / 2) } : p,
    )
    .filter(({ std }) => std > 0);
  const none = { distancesMm, pointStdDpt, gain: planesMm.map(() => distancesMm.map(() => 0)) };
  if (priors.length === 0) return none;
  // Slopes per standard deviation of each prior, so that Λ is the identity.
  const slopesAt = (mm: number) => priors.map((prior) => slopePerStd(station, prior, mm));
  const atDistances = distancesMm.map(slopesAt);
  const count = priors.length;
  const normal = new Float64Array(count * count);
  for (let j = 0; j < count; j++) {
    for (let k = 0; k < count; k++) {
      normal[j * count + k] =
        (j === k ? 1 : 0) +
        atDistances.reduce((sum, slopes, i) => sum + (slopes[j]! * slopes[k]!) / pointStdDpt[i]! ** 2, 0);
    }
  }
  const factor = choleskyFactor(normal, count);
  if (!factor) return none;
  const covariance = choleskyInverse(factor, count);
  const gain = planesMm.map((mm) => {
    const slopes = slopesAt(mm);
    return atDistances.map((at, i) => {
      let sum = 0;
      for (let j = 0; j < count; j++)
        for (let k = 0; k < count; k++) sum += slopes[j]! * covariance[j * count + k]! * at[k]!;
      return sum / pointStdDpt[i]! ** 2;
    });
  });
  return { distancesMm, pointStdDpt, gain };
}

function calibrationDistancesMm({ commissioning, task }: Station): number[] {
  if (commissioning.targetDistancesMm) return [...commissioning.targetDistancesMm];
  const [near, far] = [mmPerM / task.nearMm, mmPerM / task.farMm];
  return Array.from(
    { length: defaultDistanceCount },
    (_, i) => mmPerM / (near + ((far - near) * i) / (defaultDistanceCount - 1)),
  );
}

/**
 * Command that a build needs at a distance; 0 where no power focuses it, as the layout as written then fails anyway; null
 * for a build that cannot be made, as at the very edge of what can.
 */
function commandDpt(station: Station, build: BuildValues, workingDistanceMm: number): number | null {
  try {
    const found = focalPowerAt({ model: layoutAsBuilt(station, build), workingDistanceMm });
    return found.kind === 'power' ? (found.focalPowerDpt - build.powerOffsetDpt) / build.powerGain : 0;
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

function slopePerStd(
  station: Station,
  { name, std }: { name: keyof BuildValues; std: number },
  workingDistanceMm: number,
): number {
  const half = std / 100;
  const at = (by: number) => {
    const build = nominalBuild(station);
    build[name] += by;
    return commandDpt(station, build, workingDistanceMm);
  };
  const [above, below] = [at(half), at(-half)];
  if (above !== null && below !== null) return ((above - below) / (2 * half)) * std;
  const here = at(0);
  if (here === null || (above === null && below === null)) return 0;
  return ((above === null ? here - below! : above - here) / half) * std;
}

function pointStdAt(station: Station, workingDistanceMm: number): number {
  const half = workingDistanceMm * 1e-3;
  const build = nominalBuild(station);
  const [near, far] = [workingDistanceMm - half, workingDistanceMm + half];
  const change = (commandDpt(station, build, near) ?? 0) - (commandDpt(station, build, far) ?? 0);
  return calibrationPointStdDpt(station, change === 0 ? 0 : Math.abs((2 * half) / change));
}
