import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { buildParametersOf } from '../../src/procedures/distance-calibration/build-parameters.js';
import { fitDistanceCalibration } from '../../src/procedures/distance-calibration/fit.js';
import { focusCommandDpt } from '../../src/procedures/distance-calibration/focus-command.js';
import { distanceForPower, powerForDistance } from '../../src/procedures/distance-calibration/lookup.js';
import { fitMaximumAPosteriori } from '../../src/procedures/distance-calibration/maximum-a-posteriori.js';
import { distanceStdDpt } from '../../src/procedures/distance-calibration/observation.js';
import { targetDistancesMm } from '../../src/procedures/distance-calibration/target-distances.js';
import { nominalBuild, type Station } from '../../src/station/index.js';
import { glazeStation } from './glaze-station.js';

const station = glazeStation();
const distances = targetDistancesMm(station, { distancesMm: null });

/** Best focus at the distances for a station built otherwise than its file says, found without noise. */
function observe(of: Station, build: Partial<ReturnType<typeof nominalBuild>>, noiseDpt = (_index: number) => 0) {
  return distances.map((workingDistanceMm, i) => ({
    workingDistanceMm,
    focalPowerDpt:
      focusCommandDpt({ station: of, build: { ...nominalBuild(of), ...build }, workingDistanceMm }) + noiseDpt(i),
    focalPowerStdDpt: 0.01,
    temperatureDegC: of.parts.tunableLens.referenceTemperatureDegC,
  }));
}

function fitted(of: Station, observations: Parameters<typeof fitDistanceCalibration>[0]['observations']) {
  const record = fitDistanceCalibration({ station: of, observations });
  if (record.kind !== 'fitted') throw new Error(record.message);
  return record;
}

describe('maximum a posteriori', () => {
  it('closed form: one datum and one prior give their weighted mean', () => {
    const fit = fitMaximumAPosteriori({
      data: [{ value: 3, std: 1 }],
      priors: [{ value: 1, std: 2 }],
      model: ([p]) => [p!],
    });
    // (3/1 + 1/4) / (1 + 1/4) = 2.6; variance 1/(1 + 1/4) = 0.8; χ² (3 − 1)²/(1 + 4) = 0.8
    expect(fit.parameters[0]).toBeCloseTo(2.6, 10);
    expect(fit.covariance[0]).toBeCloseTo(0.8, 10);
    expect(fit.chiSquare).toBeCloseTo(0.8, 10);
  });

  it('closed form: a straight line through five points with vague priors is the least-squares line', () => {
    const x = [0, 1, 2, 3, 4];
    const y = [1.1, 2.9, 5.2, 6.8, 9.1];
    const fit = fitMaximumAPosteriori({
      data: y.map((value) => ({ value, std: 0.1 })),
      priors: [
        { value: 0, std: 1e4 },
        { value: 0, std: 1e4 },
      ],
      model: ([a, b]) => x.map((v) => a! + b! * v),
    });
    // slope Σ(x−2)(y−ȳ)/10 = 1.99, intercept 5.02 − 2·1.99 = 1.04
    expect(fit.parameters[1]).toBeCloseTo(1.99, 6);
    expect(fit.parameters[0]).toBeCloseTo(1.04, 6);
    expect(Math.sqrt(fit.covariance[3]!)).toBeCloseTo(0.1 / Math.sqrt(10), 6);
  });
});

describe('distance calibration fit', () => {
  it('closed form: noise-free data of a station without errors give its own parameters and curve', () => {
    const record = fitted(station, observe(station, {}));
    for (const { prior, fitted: found } of record.parameters) expect(found.value).toBeCloseTo(prior.value, 8);
    expect(record.residualRmsDpt).toBeLessThan(1e-9);
    expect(record.explanation).toContain('no build error needs to be assumed');
    for (const point of record.points) expect(point.fittedDpt).toBeCloseTo(point.predictedDpt, 9);
  });

  it.each([
    ['powerOffsetDpt', 0.08, { offset: 0.05, gain: 0, ring: 0, spacer: 0, focal: 0 }],
    ['powerGain', 1.03, { offset: 0, gain: 0.02, ring: 0, spacer: 0, focal: 0 }],
    ['ringDistanceRelative', 0.03, { offset: 0, gain: 0, ring: 0.02, spacer: 0, focal: 0 }],
    ['spacerMm', 0.035, { offset: 0, gain: 0, ring: 0, spacer: 0.02, focal: 0 }],
  ] as const)('recovery: %s alone unknown is found from noise-free data', (name, value, tolerance) => {
    const of = glazeStation((file) => {
      file.parts.tunableLens.tolerance = { offsetDpt: tolerance.offset, gainRelative: tolerance.gain };
      file.parts.tunableLens.hysteresisDpt = 0;
      file.parts.fixedLens.tolerance = { focalLengthMm: tolerance.focal, ringDistanceRelative: tolerance.ring };
      file.parts.spacer.tolerance = { lengthMm: tolerance.spacer };
    });
    const record = fitted(of, observe(of, { [name]: value }));
    expect(record.parameters.map((p) => p.name)).toEqual([name]);
    const [{ fitted: found, prior }] = record.parameters as [(typeof record.parameters)[number]];
    // The prior pulls by its share of the information.
    expect(Math.abs(found.value - value)).toBeLessThan(2 * found.std!);
    expect(Math.abs(found.value - prior.value)).toBeGreaterThan(0.8 * Math.abs(value - prior.value));
  });

  it('recovery: offset, gain, ring and spacer off together; the curve still goes through the truth', () => {
    const build = { powerOffsetDpt: 0.06, powerGain: 0.985, ringDistanceRelative: -0.015, spacerMm: 0.015 };
    const record = fitted(station, observe(station, build));
    for (const { workingDistanceMm, focalPowerDpt, predicted95Dpt } of record.curve) {
      const truth = focusCommandDpt({ station, build: { ...nominalBuild(station), ...build }, workingDistanceMm });
      expect(Math.abs(focalPowerDpt - truth)).toBeLessThan(0.004);
      expect(predicted95Dpt).toBeLessThan(0.05);
    }
  });

  it('recovery: the 95 % prediction interval holds 90 to 99 % of new points (Monte Carlo over builds and noise)', () => {
    const random = seededRandom(20261124);
    const parameters = buildParametersOf(station);
    let inside = 0;
    let total = 0;
    for (let run = 0; run < 60; run++) {
      const build = { ...nominalBuild(station) };
      for (const { name, value, std } of parameters) build[name] = value + std * random.normal();
      const noise = (mm: number) => Math.hypot(0.01, distanceStdDpt(station, mm), 0.004 * 0.5) * random.normal();
      const record = fitted(
        station,
        observe(station, build, (i) => noise(distances[i]!)),
      );
      for (const newMm of [350, 395, 450, 520]) {
        const truth = focusCommandDpt({ station, build, workingDistanceMm: newMm }) + noise(newMm);
        const at = powerForDistance({ calibration: record, workingDistanceMm: newMm });
        if (Math.abs(at.focalPowerDpt - truth) <= at.predicted95Dpt) inside++;
        total++;
      }
    }
    expect(inside / total).toBeGreaterThan(0.9);
    expect(inside / total).toBeLessThan(0.99);
  });

  it('recovery: reduced χ² is 1 on average where builds and noise follow tolerances and uncertainties', () => {
    const random = seededRandom(7);
    const parameters = buildParametersOf(station);
    let sum = 0;
    const runs = 60;
    for (let run = 0; run < runs; run++) {
      const build = { ...nominalBuild(station) };
      for (const { name, value, std } of parameters) build[name] = value + std * random.normal();
      const noise = (i: number) =>
        Math.hypot(0.01, distanceStdDpt(station, distances[i]!), 0.004 * 0.5) * random.normal();
      sum += fitted(station, observe(station, build, noise)).reducedChiSquare;
    }
    // Standard deviation of the mean of 60 χ²₇/7: √(2/7/60) = 0.069
    expect(Math.abs(sum / runs - 1)).toBeLessThan(0.25);
  });

  it('recovery: temperature is taken out, so that a warm lens gives the same calibration', () => {
    const cold = observe(station, { powerOffsetDpt: 0.05 });
    const warm = cold.map((o) => ({ ...o, focalPowerDpt: o.focalPowerDpt - 0.004 * 10, temperatureDegC: 35 }));
    const a = fitted(station, cold);
    const b = fitted(station, warm);
    a.curve.forEach((point, i) => {
      expect(b.curve[i]!.focalPowerDpt).toBeCloseTo(point.focalPowerDpt, 6);
    });
  });

  it('recovery: one outlier is named and left out, wherever it lies', () => {
    for (const at of [0, 3, 6]) {
      const record = fitted(
        station,
        observe(station, { powerOffsetDpt: 0.05 }, (i) => (i === at ? 0.25 : 0)),
      );
      expect(record.points.map((p) => p.measuredDpt.note !== undefined)).toEqual(distances.map((_, i) => i === at));
      expect(record.explanation).toContain('was left out');
      expect(record.residualRmsDpt).toBeLessThan(0.005);
    }
  });

  it('degenerate: honest noise has no outlier', () => {
    const random = seededRandom(11);
    let named = 0;
    for (let run = 0; run < 40; run++) {
      const record = fitted(
        station,
        observe(station, {}, () => 0.012 * random.normal()),
      );
      if (record.points.some((p) => p.measuredDpt.note)) named++;
    }
    expect(named).toBeLessThanOrEqual(1);
  });

  it('recovery: the explanation names the single build error that was made, among those as good', () => {
    const spacer = fitted(station, observe(station, { spacerMm: 0.045 }));
    expect(spacer.explanation).toMatch(/sensor 0\.04\d mm farther from the fixed lens/);
    expect(spacer.explanation).toMatch(
      /cannot tell it from a lens offset of \+0\.1\d+ dpt .*; or the focus ring at 5\d\d mm/,
    );
    const gain = fitted(
      glazeStation((file) => {
        file.parts.tunableLens.tolerance = { offsetDpt: 0.01, gainRelative: 0.05 };
        file.parts.fixedLens.tolerance = { ringDistanceRelative: 0.002, focalLengthMm: 0 };
        file.parts.spacer.tolerance = { lengthMm: 0.002 };
        file.layout.ringDistanceMm = 2000;
      }),
      observe(
        glazeStation((file) => {
          file.layout.ringDistanceMm = 2000;
        }),
        { powerGain: 1.06 },
      ),
    );
    expect(gain.explanation).toMatch(/most probably a lens gain of 1\.0[56]\d+ instead of 1/);
  });

  it('refuses fewer than five distances, and distances without spread', () => {
    const few = fitDistanceCalibration({ station, observations: observe(station, {}).slice(0, 4) });
    expect(few).toMatchObject({ kind: 'refused', reason: 'too-few-distances' });
    expect(few.points).toHaveLength(4);
    const near = [400, 400.2, 400.4, 400.6, 400.8].map((workingDistanceMm) => ({
      ...observe(station, {})[0]!,
      workingDistanceMm,
    }));
    expect(fitDistanceCalibration({ station, observations: near })).toMatchObject({
      kind: 'refused',
      reason: 'no-spread',
    });
    expect(fitDistanceCalibration({ station, observations: [] })).toMatchObject({ reason: 'too-few-distances' });
  });

  it('refuses observations that are not finite or have no uncertainty', () => {
    const bad = (change: object) =>
      fitDistanceCalibration({
        station,
        observations: observe(station, {}).map((o, i) => (i === 2 ? { ...o, ...change } : o)),
      });
    expect(() => bad({ focalPowerDpt: Number.NaN })).toThrow(/focalPowerDpt is NaN/);
    expect(() => bad({ focalPowerStdDpt: 0 })).toThrow(/focalPowerStdDpt is 0 dpt/);
    expect(() => bad({ workingDistanceMm: -1 })).toThrow(/workingDistanceMm is -1 mm/);
  });
});

describe('look-up in a calibration', () => {
  const calibration = fitted(station, observe(station, { powerOffsetDpt: 0.04, powerGain: 1.01 }));

  it('property: distance → power → distance is the same distance', () => {
    fc.assert(
      fc.property(fc.double({ min: 340, max: 545, noNaN: true }), (workingDistanceMm) => {
        const { focalPowerDpt } = powerForDistance({ calibration, workingDistanceMm });
        expect(distanceForPower({ calibration, focalPowerDpt })?.workingDistanceMm).toBeCloseTo(workingDistanceMm, 6);
      }),
    );
  });

  it('closed form: a warm lens needs the drift less', () => {
    const lens = { temperatureDegC: 35, temperatureCoefficientDptPerDegC: 0.004 };
    const cold = powerForDistance({ calibration, workingDistanceMm: 400 });
    expect(powerForDistance({ calibration, workingDistanceMm: 400, lens }).focalPowerDpt).toBeCloseTo(
      cold.focalPowerDpt - 0.04,
      9,
    );
    const back = distanceForPower({ calibration, focalPowerDpt: cold.focalPowerDpt - 0.04, lens });
    expect(back?.workingDistanceMm).toBeCloseTo(400, 6);
  });

  it('refuses a distance outside the calibrated range; a power outside it has no distance', () => {
    expect(() => powerForDistance({ calibration, workingDistanceMm: 300 })).toThrow(
      /workingDistanceMm is 300 mm; allowed: a finite number ≥ 333.2 mm/,
    );
    expect(distanceForPower({ calibration, focalPowerDpt: 2.9 })).toBeNull();
  });
});
