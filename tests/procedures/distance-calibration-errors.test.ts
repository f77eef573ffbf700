import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { seededRandom } from '../../src/base/index.js';
import { buildParametersOf } from '../../src/procedures/distance-calibration/build-parameters.js';
import { fitDistanceCalibration } from '../../src/procedures/distance-calibration/fit.js';
import { focusCommandDpt } from '../../src/procedures/distance-calibration/focus-command.js';
import { targetDistancesMm } from '../../src/procedures/distance-calibration/target-distances.js';
import { type BuildValues, nominalBuild, type Station, stationSchema } from '../../src/station/index.js';

const stations = ['glaze-line', 'relay-pins', 'vial-stopper'].map((name): { name: string; station: Station } => ({
  name,
  station: stationSchema.parse(parse(readFileSync(new URL(`../../stations/${name}.yaml`, import.meta.url), 'utf8'))),
}));

const truthDpt = (station: Station, build: Partial<BuildValues>, workingDistanceMm: number) =>
  focusCommandDpt({ station, build: { ...nominalBuild(station), ...build }, workingDistanceMm });

/** Best focus at the calibration's distances, found without noise; null for a build that cannot be made. */
function observe(station: Station, build: Partial<BuildValues>) {
  try {
    return targetDistancesMm(station, { distancesMm: null }).map((workingDistanceMm) => ({
      workingDistanceMm,
      focalPowerDpt: truthDpt(station, build, workingDistanceMm),
      focalPowerStdDpt: 0.01,
      temperatureDegC: station.parts.tunableLens.referenceTemperatureDegC,
    }));
  } catch {
    return null;
  }
}

function fitted(station: Station, build: Partial<BuildValues>) {
  const observations = observe(station, build);
  if (!observations) throw new Error('this build cannot be made');
  const record = fitDistanceCalibration({ station, observations });
  if (record.kind !== 'fitted') throw new Error(record.message);
  return record;
}

/** Errors of every fitted build value, in tolerances. */
function strayed(station: Station, tolerances: readonly number[]): Partial<BuildValues> {
  return Object.fromEntries(
    buildParametersOf(station).map(({ name, value, std }, j) => [name, value + tolerances[j]! * std]),
  );
}

const errors = (most: number) =>
  fc.array(fc.double({ min: -most, max: most, noNaN: true }), { minLength: 5, maxLength: 5 });

describe.each(stations)('distance calibration of $name built wrong', ({ station }) => {
  it('property: errors of up to 100 tolerances never throw', () => {
    fc.assert(
      fc.property(errors(100), fc.integer({ min: -1, max: 4 }), (tolerances, alone) => {
        const build = strayed(
          station,
          tolerances.map((t, j) => (alone < 0 || j === alone ? t : 0)),
        );
        const observations = observe(station, build);
        fc.pre(observations !== null);
        const record = fitDistanceCalibration({ station, observations: observations! });
        if (record.kind === 'fitted') {
          for (const { focalPowerDpt, predicted95Dpt } of record.curve) {
            expect(Number.isFinite(focalPowerDpt)).toBe(true);
            expect(predicted95Dpt).toBeGreaterThan(0);
          }
        }
      }),
      { numRuns: 20, seed: 20261124 },
    );
  });

  it('recovery: a lens offset of −4 … +4 dpt is fitted, and 40 builds inside the tolerances are', () => {
    for (let offsetDpt = -4; offsetDpt <= 4; offsetDpt += 0.5) {
      const record = fitted(station, { powerOffsetDpt: offsetDpt });
      expect(Number.isFinite(record.residualRmsDpt)).toBe(true);
    }
    const random = seededRandom(5);
    for (let run = 0; run < 40; run++) {
      const build = strayed(
        station,
        Array.from({ length: 5 }, () => random.normal()),
      );
      const { curve } = fitted(station, build);
      for (const { workingDistanceMm, focalPowerDpt, predicted95Dpt } of [curve[1]!, curve[20]!, curve[39]!]) {
        expect(Math.abs(focalPowerDpt - truthDpt(station, build, workingDistanceMm))).toBeLessThan(predicted95Dpt);
      }
    }
  });
});

describe('tolerances that the points contradict', () => {
  const glaze = stations[0]!.station;
  const widest = (record: ReturnType<typeof fitted>) => Math.max(...record.curve.map((p) => p.predicted95Dpt));

  it.each([
    ['an offset of 1 dpt', { powerOffsetDpt: 1 }, /lens offset of \+1\.0\d\d dpt/],
    ['the ring at 200 instead of 560 mm', { ringDistanceRelative: 200 / 560 - 1 }, /focus ring at (19|20)\d mm/],
  ])('recovery: %s is fitted as well as a station as written, and said', (_, build, said) => {
    const record = fitted(glaze, build);
    expect(widest(record)).toBeLessThan(1.2 * widest(fitted(glaze, {})));
    expect(record.residualRmsDpt).toBeLessThan(0.001);
    expect(record.explanation).toMatch(said);
    expect(record.explanation).toContain('fitted free of one: ');
    for (const { workingDistanceMm, focalPowerDpt } of record.curve) {
      expect(Math.abs(focalPowerDpt - truthDpt(glaze, build, workingDistanceMm))).toBeLessThan(0.005);
    }
  });

  it('degenerate: points that scatter by more than they claim widen the interval, and no tolerance is let go', () => {
    const noiseDpt = [0.03, -0.03, 0.03, -0.03, 0.03, -0.03, 0.03];
    const observations = observe(glaze, {})!.map((o, i) => ({ ...o, focalPowerDpt: o.focalPowerDpt + noiseDpt[i]! }));
    const record = fitDistanceCalibration({ station: glaze, observations });
    if (record.kind !== 'fitted') throw new Error(record.message);
    expect(record.explanation).not.toContain('fitted free of');
    expect(record.reducedChiSquare).toBeGreaterThan(3);
    expect(widest(record)).toBeGreaterThan(0.05);
  });
});
