import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { normalProbabilityBelow, normalProbabilityWithin, seededRandom } from '../../src/base/index.js';
import { planStation, toleranceRun } from '../../src/planning/index.js';
import { shareOf } from '../../src/planning/tolerance/built-share.js';
import { calibrationGain } from '../../src/planning/tolerance/calibration-gain.js';
import { fitDistanceCalibration } from '../../src/procedures/distance-calibration/fit.js';
import { focusCommandDpt } from '../../src/procedures/distance-calibration/focus-command.js';
import { powerForDistance } from '../../src/procedures/distance-calibration/lookup.js';
import { nominalBuild, type Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';
import { randomStation } from './random-station.js';

const about = { stationSha256: '', softwareVersion: '' };
const names = ['glaze-line', 'vial-stopper', 'relay-pins'];

/** A station without any tolerance, for one at a time. */
function exact(station: Station): Station {
  return changed(station, {
    parts: {
      fixedLens: {
        tolerance: {
          focalLengthMm: 0,
          ringDistanceRelative: 0,
          frontToPrincipalMm: 0,
          fNumberRelative: 0,
          wavefrontErrorRelative: 0,
        },
      },
      tunableLens: {
        tolerance: {
          offsetDpt: 0,
          gainRelative: 0,
          frontToPlaneMm: 0,
          temperatureCoefficientRelative: 0,
          wavefrontErrorRelative: 0,
        },
      },
      light: { tolerance: { irradianceRelative: 0 } },
      spacer: { tolerance: { lengthMm: 0 } },
    },
    layout: { tolerance: { gapMm: 0 } },
    commissioning: { temperatureStdDegC: 0 },
  });
}

function tolerance(station: Station, { stationCount = 2000, seed = 1 } = {}) {
  const run = toleranceRun({ station, stationCount, seed });
  run.advance(stationCount);
  return run.record(about);
}

const requirementOf = (record: ReturnType<typeof tolerance>, key: string) =>
  record.requirements.find((requirement) => requirement.key === key)!;

/** Four standard errors of a share. */
const within = (share: number, count: number) => 4 * Math.sqrt((share * (1 - share)) / count) + 1 / count;

describe('toleranceRun', () => {
  it.each(names)('degenerate: %s without tolerances is the plan, at every requirement', (name) => {
    const station = exact(demoStation(name));
    const plan = planStation(station, about);
    for (const { key, nominalValue, now, contributors } of tolerance(station, { stationCount: 20 }).requirements) {
      const row = plan.ledger.find((r) => r.key === key)!;
      if (!key.startsWith('focus.')) expect(contributors).toEqual([]);
      expect([0, 1]).toContain(now.share);
      expect(now.medianValue).toBeCloseTo(nominalValue!, 12);
      if (key.startsWith('reach.') || key.startsWith('focus.')) continue;
      expect(nominalValue!, key).toBeCloseTo(row.predicted!.value, 9);
    }
  });

  it('closed form: reach with a lens offset alone is a normal probability', () => {
    const tight = exact(changed(demoStation('glaze-line'), { controls: { powerMaxDpt: 1.2 } }));
    const offsetDpt = 0.1;
    const record = tolerance(changed(tight, { parts: { tunableLens: { tolerance: { offsetDpt } } } }), {
      stationCount: 8000,
    });
    const near = requirementOf(record, 'reach.near');
    // near needs 1000/346 − 1000/538 dpt; coldest is 18 °C: 7 °C · 0.004 dpt/°C below the reference
    const spareDpt = 1.2 - (1000 / 346 - 1000 / 538 + 7 * 0.004);
    expect(near.nominalValue).toBeCloseTo(spareDpt, 9);
    const expected = normalProbabilityBelow(spareDpt / offsetDpt);
    expect(Math.abs(near.now.share - expected)).toBeLessThan(within(expected, 8000));
    expect(near.contributors).toEqual([{ name: 'powerOffsetDpt', title: 'Lens power at zero command', share: 1 }]);
    // percentiles of a normal distribution
    expect(near.now.fifthPercentileValue).toBeCloseTo(spareDpt - 1.6449 * offsetDpt, 1);
    expect(near.now.medianValue).toBeCloseTo(spareDpt, 1);
  });

  it('closed form: focus with a lens offset alone, by the depth of field of the plan', () => {
    const still = exact(
      changed(demoStation('glaze-line'), {
        parts: {
          tunableLens: {
            temperatureCoefficientDptPerDegC: 0,
            repeatabilityDpt: 0.03,
            controlStepDpt: 0,
            hysteresisDpt: 0,
          },
          light: { bandwidthNm: 0 },
        },
      }),
    );
    const plane = planStation(still, about).planes[2]!;
    const { nearHalfWidthDpt, farHalfWidthDpt } = plane.depthOfField.taskContrast!;
    const std = 0.1;
    const record = tolerance(changed(still, { parts: { tunableLens: { tolerance: { offsetDpt: std } } } }), {
      stationCount: 8000,
    });
    const { now } = requirementOf(record, 'focus.far.budget');
    const expected = normalProbabilityWithin({
      low: -(farHalfWidthDpt - 0.06),
      high: nearHalfWidthDpt - 0.06,
      std,
    });
    expect(expected).toBeGreaterThan(0.5);
    expect(expected).toBeLessThan(0.9);
    // near and far half-widths of the plan follow the object, here the power: within some thousandths
    expect(Math.abs(now.share - expected)).toBeLessThan(within(expected, 8000) + 0.01);
  });

  it('closed form: signal to noise with the irradiance alone', () => {
    const station = exact(demoStation('relay-pins'));
    const { light } = planStation(station, about);
    const irradianceRelative = 0.2;
    const record = tolerance(changed(station, { parts: { light: { tolerance: { irradianceRelative } } } }), {
      stationCount: 8000,
    });
    const needed = light!.neededExposureMs! / light!.exposureMs;
    const expected = 1 - normalProbabilityBelow((needed - 1) / irradianceRelative);
    const { now } = requirementOf(record, 'light.signalToNoise');
    expect(Math.abs(now.share - expected)).toBeLessThan(within(expected, 8000));
  });

  it('closed form: contributors of reach: offset σ_o², gain (σ_g·P)²', () => {
    const station = changed(exact(demoStation('glaze-line')), {
      parts: {
        tunableLens: { tolerance: { offsetDpt: 0.03, gainRelative: 0.05 }, temperatureCoefficientDptPerDegC: 0 },
      },
    });
    const { contributors } = requirementOf(tolerance(station, { stationCount: 10 }), 'reach.near');
    const powerDpt = 1000 / 346 - 1000 / 538;
    const [offset, gain] = [0.03 ** 2, (0.05 * powerDpt) ** 2];
    expect(contributors.map(({ name }) => name)).toEqual(['powerGain', 'powerOffsetDpt']);
    expect(contributors[0]!.share).toBeCloseTo(gain / (offset + gain), 2);
  });

  it('recovery: an exact calibration wins back offset, gain, ring, spacer and focal length', () => {
    const lens = { repeatabilityDpt: 1e-4, hysteresisDpt: 0, controlStepDpt: 0, temperatureCoefficientDptPerDegC: 0 };
    const tolerances = { offsetDpt: 0.15, gainRelative: 0.05 };
    const wild = changed(demoStation('glaze-line'), {
      parts: {
        tunableLens: { ...lens, tolerance: tolerances },
        fixedLens: { tolerance: { ringDistanceRelative: 0.05, focalLengthMm: 0.1 } },
        spacer: { tolerance: { lengthMm: 0.04 } },
      },
      commissioning: { distanceStdMm: 0.01, temperatureStdDegC: 0 },
    });
    const record = tolerance(wild);
    for (const key of ['focus.near.budget', 'focus.middle.budget', 'focus.far.budget']) {
      const { now, afterCalibration } = requirementOf(record, key);
      expect(now.share).toBeLessThan(0.85);
      expect(afterCalibration.share).toBeGreaterThan(0.998);
    }
    expect(record.all!.afterCalibration.share).toBeGreaterThan(record.all!.now.share + 0.3);
  });

  it.each(names)('reference: %s: the linear calibration equals the fit of the commissioning, with noise', (name) => {
    const station = demoStation(name);
    const planesMm = [station.task.nearMm, station.task.farMm];
    const { distancesMm, pointStdDpt, gain } = calibrationGain(station, planesMm);
    const random = seededRandom(11);
    const { temperatureCoefficientDptPerDegC: k, referenceTemperatureDegC, tolerance: t } = station.parts.tunableLens;
    for (let run = 0; run < 8; run++) {
      const build = nominalBuild(station);
      build.powerOffsetDpt = t.offsetDpt * random.normal();
      build.powerGain = 1 + t.gainRelative * random.normal();
      build.spacerMm += station.parts.spacer.tolerance.lengthMm * random.normal();
      build.focalLengthMm += station.parts.fixedLens.tolerance.focalLengthMm * random.normal();
      const commandAt = (mm: number, of = build) => focusCommandDpt({ station, build: of, workingDistanceMm: mm });
      const noise = pointStdDpt.map((std) => std * random.normal());
      const record = fitDistanceCalibration({
        station,
        observations: distancesMm.map((workingDistanceMm, i) => ({
          workingDistanceMm,
          focalPowerDpt: commandAt(workingDistanceMm) + noise[i]!,
          // the fit adds the uncertainty of distance and temperature itself
          focalPowerStdDpt: station.parts.tunableLens.repeatabilityDpt,
          temperatureDegC: referenceTemperatureDegC,
        })),
      });
      if (record.kind !== 'fitted') throw new Error(record.message);
      if (record.points.some(({ measuredDpt }) => measuredDpt.note !== undefined)) continue;
      for (const [p, mm] of planesMm.entries()) {
        const nominal = commandAt(mm, nominalBuild(station));
        const linear = distancesMm.reduce((sum, distance, i) => {
          const found = commandAt(distance) + noise[i]! - commandAt(distance, nominalBuild(station));
          return sum + gain[p]![i]! * found;
        }, nominal);
        const fit = powerForDistance({ calibration: record, workingDistanceMm: mm }).focalPowerDpt;
        // a tenth of the points' own uncertainty, for what is not linear
        expect(Math.abs(linear - fit)).toBeLessThan(0.1 * Math.max(...pointStdDpt) + Math.abs(k) * 1e-9);
      }
    }
  });

  it('property: a wider tolerance never raises the share of its requirement, but for chance', () => {
    const station = demoStation('glaze-line');
    const wider: ((factor: number) => Station)[] = [
      (f) => changed(station, { parts: { fixedLens: { tolerance: { ringDistanceRelative: 0.02 * f } } } }),
      (f) => changed(station, { parts: { spacer: { tolerance: { lengthMm: 0.02 * f } } } }),
      (f) => changed(station, { parts: { tunableLens: { tolerance: { offsetDpt: 0.05 * f } } } }),
      (f) => changed(station, { layout: { tolerance: { gapMm: 0.1 * f } } }),
    ];
    fc.assert(
      fc.property(fc.constantFrom(...wider), fc.double({ min: 1.5, max: 5, noNaN: true }), (at, factor) => {
        const [narrow, wide] = [1, factor].map((f) =>
          requirementOf(tolerance(at(f), { stationCount: 500 }), 'focus.far.budget'),
        );
        expect(wide!.now.share).toBeLessThanOrEqual(narrow!.now.share + 0.03);
        expect(wide!.afterCalibration.share).toBeLessThanOrEqual(narrow!.afterCalibration.share + 0.03);
      }),
      { numRuns: 8 },
    );
  });

  it('property: the seed decides, the pieces do not', () => {
    const station = demoStation('vial-stopper');
    const pieces = toleranceRun({ station, stationCount: 300, seed: 5 });
    while (pieces.doneCount < 300) pieces.advance(7);
    expect(pieces.record(about)).toEqual(tolerance(station, { stationCount: 300, seed: 5 }));
    expect(pieces.record(about)).not.toEqual(tolerance(station, { stationCount: 300, seed: 6 }));
  });

  it('property: random stations give shares and finite numbers, or a refusal with its reason', () => {
    fc.assert(
      fc.property(randomStation, (station) => {
        const record = tolerance(station, { stationCount: 30 });
        expect(JSON.stringify(record)).not.toMatch(/NaN|Infinity/);
        if (record.refusal !== null) {
          expect(record.refusal.reason).toMatch(/focused by no power/);
          return;
        }
        for (const { now, afterCalibration, contributors, nominalValue } of record.requirements) {
          for (const { share, lowShare, highShare } of [now, afterCalibration]) {
            expect(lowShare).toBeLessThanOrEqual(share + 1e-12);
            expect(highShare).toBeGreaterThanOrEqual(share - 1e-12);
          }
          expect(nominalValue === null || Number.isFinite(nominalValue)).toBe(true);
          expect(contributors.reduce((sum, { share }) => sum + share, 0)).toBeLessThanOrEqual(1 + 1e-9);
          for (const { share } of contributors) expect(Number.isFinite(share)).toBe(true);
        }
      }),
      { numRuns: 40 },
    );
  });

  it('refuses counts and seeds out of range', () => {
    const station = demoStation('glaze-line');
    expect(() => toleranceRun({ station, stationCount: 0, seed: 1 })).toThrow(/stationCount is 0; allowed: .* ≥ 1/);
    expect(() => toleranceRun({ station, stationCount: 10, seed: -1 })).toThrow(/seed is -1/);
    expect(() => toleranceRun({ station, stationCount: 10, seed: 1 }).record(about)).toThrow(RangeError);
  });
});

describe('shareOf', () => {
  it('closed form: Wilson’s interval for 0 of 10 (z²/(n + z²)) and 50 of 100 (0.4038 … 0.5962)', () => {
    const square = 1.959964 ** 2;
    expect(shareOf({ successCount: 0, trialCount: 10 })).toMatchObject({ share: 0, lowShare: 0 });
    expect(shareOf({ successCount: 0, trialCount: 10 }).highShare).toBeCloseTo(square / (10 + square), 12);
    const half = shareOf({ successCount: 50, trialCount: 100 });
    expect([half.lowShare, half.highShare].map((v) => v.toFixed(4))).toEqual(['0.4038', '0.5962']);
  });

  it('property: about 95 % of intervals hold the true share', () => {
    const random = seededRandom(3);
    let inside = 0;
    for (let run = 0; run < 1000; run++) {
      const trialCount = 200;
      let successCount = 0;
      for (let i = 0; i < trialCount; i++) if (random.uniform() < 0.9) successCount++;
      const { lowShare, highShare } = shareOf({ successCount, trialCount });
      if (lowShare <= 0.9 && highShare >= 0.9) inside++;
    }
    expect(inside).toBeGreaterThan(925);
    expect(inside).toBeLessThan(975);
  });
});

describe('tolerances at the edge of what can be built', () => {
  it('degenerate: a ring just beyond the focal length is answered, with stations that cannot be built', () => {
    const station = changed(demoStation('glaze-line'), { layout: { ringDistanceMm: 16.0001 } });
    const run = toleranceRun({ station, stationCount: 50, seed: 1 });
    run.advance(50);
    const { notBuildableCount, all } = run.record(about);
    expect(notBuildableCount).toBeGreaterThan(0);
    expect(all?.now.share).toBe(0);
  });
});
