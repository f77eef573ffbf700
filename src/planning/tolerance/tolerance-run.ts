import { requireInteger, seededRandom } from '../../base/index.js';
import { type Station, type ToleranceRecord, type ToleranceRequirement, taskPlanesOf } from '../../station/index.js';
import { planStation } from '../plan-station.js';
import { type BuiltModel, builtModel } from './built-model.js';
import { builtShare, shareOf } from './built-share.js';
import { builtValues } from './built-values.js';
import { rankedContributors } from './contributors.js';
import { asWritten, type Deviation, deviationsOf, drawnStation } from './deviations.js';
import { type BuiltRequirement, builtRequirements, isMet } from './requirements.js';
import { toleranceAssumptions } from './tolerance-assumptions.js';

/** Most stations of one run: their values are kept for the percentiles. */
export const stationCountMax = 200_000;

/** A Monte Carlo that is advanced in pieces, so that a page or a person waiting can be told how far it is. */
export interface ToleranceRun {
  readonly stationCount: number;
  readonly doneCount: number;
  /** Builds so many more stations, as far as there are any left. */
  advance(count: number): void;
  /** What the stations built so far say. Throws RangeError before the first. */
  record(about: { stationSha256: string; softwareVersion: string }): ToleranceRecord;
}

/**
 * Builds a station many times within its tolerances, before and after a distance calibration.
 *
 * Model    every deviation of deviationsOf drawn independently from a normal distribution; each its own stream of the
 *          seed, so that another tolerance leaves the others' draws as they were. See builtValues for one station
 * Returns  a run to advance; the same seed gives the same record, whatever the pieces.
 * Throws   RangeError for a seed or a number of stations out of range.
 * Trust    as good as the tolerances: those left out of the station file have defaults of common practice, no source.
 * Source   docs/planning/tolerance.md
 * Checked  closed form: shares from the normal distribution where the value is linear; tests/planning/tolerance.test.ts
 */
export function toleranceRun({
  station,
  stationCount,
  seed,
}: {
  station: Station;
  stationCount: number;
  seed: number;
}): ToleranceRun {
  requireInteger('stationCount', stationCount, { min: 1, max: stationCountMax });
  const planes = taskPlanesOf(station);
  const requirements = builtRequirements(station, planes);
  const deviations = deviationsOf(station);
  const plan = planStation(station, { stationSha256: '', softwareVersion: '' });
  const model = builtModel({ station, planes, planned: plan.planes });
  const tally = model && startTally(model, requirements, deviations, stationCount, seed);
  return {
    stationCount,
    get doneCount() {
      return tally ? tally.doneCount() : stationCount;
    },
    advance: (count) => tally?.advance(count),
    record: (about) => ({
      kind: 'tolerance',
      station: station.station,
      invented: station.invented,
      ...about,
      seed,
      stationCount: tally ? tally.doneCount() : 0,
      notBuildableCount: tally ? tally.notBuildableCount() : 0,
      refusal: model ? null : refusal,
      ...(tally ? tally.shares() : { requirements: [], all: null }),
      calibrationDistanceCount: model?.calibration.distancesMm.length ?? 0,
      assumptions: toleranceAssumptions(station),
    }),
  };
}

const refusal = {
  reason: 'a plane of the task, or a distance of the calibration, is focused by no power in the layout as written',
  remedy: 'see the rows on reach in the plan',
};

function startTally(
  model: BuiltModel,
  requirements: readonly BuiltRequirement[],
  deviations: readonly Deviation[],
  stationCount: number,
  seed: number,
) {
  const random = seededRandom(seed).fork('tolerance');
  const streams = deviations.map(({ name }) => random.fork(name));
  const noise = random.fork('calibration-points');
  const { pointStdDpt } = model.calibration;
  const now = requirements.map(() => new Float64Array(stationCount));
  const after = requirements.map(({ calibrated }, r) => (calibrated ? new Float64Array(stationCount) : now[r]!));
  const met = { now: 0, after: 0 };
  let doneCount = 0;
  let notBuildableCount = 0;

  function build(): void {
    const sigmas = streams.map((stream) => stream.normal());
    const pointNoiseDpt = pointStdDpt.map((std) => std * noise.normal());
    const values = builtValues(model, drawnStation(model.station, deviations, sigmas), pointNoiseDpt);
    for (const [r, { calibrated }] of requirements.entries()) {
      now[r]![doneCount] = values.now[r]!;
      if (calibrated) after[r]![doneCount] = values.afterCalibration[r]!;
    }
    if (Number.isNaN(values.now[0]!)) notBuildableCount++;
    if (requirements.every((requirement, r) => isMet(requirement, values.now[r]!))) met.now++;
    if (requirements.every((requirement, r) => isMet(requirement, values.afterCalibration[r]!))) met.after++;
    doneCount++;
  }

  function shares(): Pick<ToleranceRecord, 'requirements' | 'all'> {
    const silent = new Float64Array(pointStdDpt.length);
    const nominal = builtValues(model, asWritten(model.station), silent).now;
    const ranked = rankedContributors(model, requirements, deviations);
    return {
      requirements: requirements.map((requirement, r): ToleranceRequirement => {
        const { key, title, unit, required, calibrated } = requirement;
        const ofNow = builtShare(requirement, now[r]!.subarray(0, doneCount));
        return {
          key,
          title,
          unit,
          required,
          nominalValue: Number.isNaN(nominal[r]!) ? null : nominal[r]!,
          now: ofNow,
          afterCalibration: calibrated ? builtShare(requirement, after[r]!.subarray(0, doneCount)) : ofNow,
          contributors: ranked[r]!.now,
          contributorsAfterCalibration: ranked[r]!.afterCalibration,
        };
      }),
      all: {
        now: shareOf({ successCount: met.now, trialCount: doneCount }),
        afterCalibration: shareOf({ successCount: met.after, trialCount: doneCount }),
      },
    };
  }

  return {
    doneCount: () => doneCount,
    notBuildableCount: () => notBuildableCount,
    advance(count: number) {
      for (const end = Math.min(stationCount, doneCount + count); doneCount < end; ) build();
    },
    shares,
  };
}
