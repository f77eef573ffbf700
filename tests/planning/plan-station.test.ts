import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import { type PlanRecord, predictedMtf, type Station, stationSchema } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';
import { randomStation } from './random-station.js';

const plan = (station: Station): PlanRecord =>
  planStation(station, { stationSha256: 'a'.repeat(64), softwareVersion: '0' });
const row = (record: PlanRecord, key: string) => record.ledger.find((r) => r.key === key)!;

/** Every number in a value, with its path. */
function numbersIn(value: unknown, path = ''): [string, number][] {
  if (typeof value === 'number') return [[path, value]];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => numbersIn(inner, `${path}.${key}`));
}

/**
 * The thin tunable lens 10 mm before a thin lens of f = 16 mm, sensor 16.5 mm behind it. Distances and magnifications:
 * computed by vergences and by ray matrices, which agree (both formulas: Hecht; Smith, from memory; derived again).
 */
const thinPair = (powers: { powerMinDpt: number; powerMaxDpt: number }, planesMm: number[]) =>
  changed(demoStation('glaze-line'), {
    task: { nearMm: 168.7, farMm: 517.9, planesMm },
    parts: {
      fixedLens: { focalLengthMm: 16, pupilMagnification: 1 },
      tunableLens: { frontToPlaneMm: 0, ...powers },
      spacer: { lengthMm: 0.5 },
    },
    layout: { gapMm: 10, ringDistanceMm: null },
    controls: { parkPowerDpt: powers.powerMaxDpt },
  });

describe('planStation', () => {
  it('reference: reach of a tunable lens 10 mm before f 16 mm, sensor at 16.5 mm', () => {
    const { reach } = plan(thinPair({ powerMinDpt: 0, powerMaxDpt: 4 }, [341.2385]));
    expect(reach.nearMm).toBeCloseTo(168.6198, 4);
    expect(reach.farMm).toBeCloseTo(518, 4);
    expect(reach).toMatchObject({ farIsInfinite: false, coveredShare: 1, powerMinDpt: 0, powerMaxDpt: 4 });
  });

  it('reference: powers and magnifications of the same pair at four planes', () => {
    const { planes } = plan(thinPair({ powerMinDpt: 0, powerMaxDpt: 4 }, [341.2385, 254.4204, 202.8191, 517.9]));
    const expected = [
      [1, 0.047438],
      [2, 0.063625],
      [3, 0.079813],
    ] as const;
    for (const [i, [powerDpt, magnification]] of expected.entries()) {
      expect(planes[i]!.focalPowerDpt).toBeCloseTo(powerDpt, 5);
      expect(planes[i]!.magnification).toBeCloseTo(magnification, 5);
    }
  });

  it('reference: at −2 dpt the same pair focuses beyond infinity', () => {
    const { reach, ledger } = plan(thinPair({ powerMinDpt: -2, powerMaxDpt: 4 }, [300]));
    expect(reach).toMatchObject({ farMm: null, farIsInfinite: true });
    expect(ledger.find(({ key }) => key === 'reach.far')).toMatchObject({ verdict: 'meets', predicted: null });
  });

  it('degenerate: powers that focus beyond infinity alone reach nothing, and say so', () => {
    const record = plan(thinPair({ powerMinDpt: -6, powerMaxDpt: -2 }, [300]));
    expect(record.reach).toMatchObject({ nearMm: null, farMm: null, farIsInfinite: false, coveredShare: 0 });
    expect(record.planes[0]).toMatchObject({ focalPowerDpt: null });
    expect(record.planes[0]!.neededPowerDpt).toBeGreaterThan(1);
    expect(row(record, 'reach.near').reason).toMatch(
      /^Fails: 169 mm needs 4 dpt, the station’s limit is −2 dpt; at the limit focus lies beyond infinity/,
    );
    expect(record.verdict).toBe('fails');
  });

  it('degenerate: a tunable lens at an image of the object moves no focus, and says so', () => {
    const atImage = changed(demoStation('relay-pins'), {
      task: { nearMm: 80, farMm: 90, planesMm: [88] }, // 100 mm before the lens of f 50 mm: imaged 100 mm behind it
      layout: { gapMm: 100, ringDistanceMm: null },
      parts: { spacer: { lengthMm: 300 }, fixedLens: { frontToPrincipalMm: 12 } },
    });
    const record = plan(atImage);
    expect(record.planes[0]).toMatchObject({ focalPowerDpt: null, neededPowerDpt: null, depthOfFieldMm: 0 });
    expect(row(record, 'resolution.plane-1.mtfAtTask')).toMatchObject({ verdict: 'fails' });
    expect(row(record, 'resolution.plane-1.mtfAtTask').reason).toMatch(
      /no focal power focuses 88 mm: the tunable lens sits at an image/,
    );
  });

  it('closed form: parts of the MTF multiply to it, and to the station’s predicted MTF', () => {
    for (const name of ['glaze-line', 'vial-stopper', 'relay-pins']) {
      const station = demoStation(name);
      for (const { mtfParts, mtfAtTask, taskFrequencyPerPx, workingDistanceMm } of plan(station).planes) {
        const product = mtfParts.diffraction * mtfParts.wavefrontError * mtfParts.pixel * mtfParts.motion;
        expect(mtfAtTask).toBeCloseTo(product, 12);
        const [predicted] = predictedMtf({
          station,
          workingDistanceMm,
          frequenciesPerPx: [taskFrequencyPerPx],
          moving: true,
        })!;
        expect(mtfAtTask).toBeCloseTo(predicted!, 12);
      }
    }
  });

  it('closed form: field, frequency and grey value of the pottery line at 545 mm, by hand', () => {
    const far = plan(demoStation('glaze-line')).planes[2]!;
    expect(far.fieldWidthMm).toBeCloseTo((1280 * 0.0048) / far.magnification, 9);
    expect(far.taskFrequencyPerPx).toBeCloseTo(0.0048 / (0.4 * far.magnification), 9);
    // 50.341 · 23.04 µm² · 0.6 ms · 0.525 µm · 40 µW/cm² = 14 614 photons; · 0.6 · 0.02 DN/e + 2 DN
    expect(far.meanGreyDn).toBeCloseTo(50.3411657 * 23.04 * 0.6 * 0.525 * 40 * 0.6 * 0.02 + 2, 3);
  });

  it('closed form: the cone from the object fills the entrance pupil, that to the sensor the exit pupil', () => {
    for (const name of ['glaze-line', 'vial-stopper', 'relay-pins'] as const) {
      for (const plane of plan(demoStation(name)).planes) {
        const { entrance, exit } = plane.pupils!;
        const objectSlope = entrance.diameterMm / 2 / (plane.workingDistanceMm + entrance.positionMm);
        expect(objectSlope / plane.objectNumericalAperture).toBeCloseTo(1, 8);
        expect(exit.positionMm / exit.diameterMm / plane.workingFNumber).toBeCloseTo(1, 8);
      }
    }
  });

  it('property: answers every station that the schema allows, in finite numbers', () => {
    fc.assert(
      fc.property(randomStation, (station) => {
        const record = plan(station);
        for (const [path, value] of numbersIn(record)) expect(Number.isFinite(value), path).toBe(true);
        expect(JSON.parse(JSON.stringify(record))).toEqual(record);
        expect(record.reasons.length).toBeGreaterThan(0);
        for (const { verdict, reason, remedy, key } of record.ledger) {
          expect(reason, key).not.toMatch(/NaN|Infinity|undefined|null/);
          if (verdict !== 'meets') expect(remedy, key).not.toBeNull();
        }
      }),
      { numRuns: 400 },
    );
  });

  it('property: a larger f-number never makes the depth of field by blur disc shallower', () => {
    const station = demoStation('glaze-line');
    const depthsMm = [2, 2.8, 4, 5.6, 8, 11, 16].map((fNumber) => {
      const depth = plan(changed(station, { layout: { fNumber } })).planes[1]!.depthOfField.blurDisc!;
      return depth.farMm === null ? Number.POSITIVE_INFINITY : depth.farMm - depth.nearMm;
    });
    expect(depthsMm).toEqual([...depthsMm].sort((a, b) => a - b));
  });

  it('property: a plane is in reach exactly where its power lies inside the limits', () => {
    fc.assert(
      fc.property(randomStation, (station) => {
        const { planes, reach } = plan(station);
        for (const { focalPowerDpt, neededPowerDpt } of planes) {
          const inside =
            neededPowerDpt !== null && neededPowerDpt >= reach.powerMinDpt && neededPowerDpt <= reach.powerMaxDpt;
          expect(focalPowerDpt).toBe(inside ? neededPowerDpt : null);
        }
      }),
      { numRuns: 100 },
    );
  });

  it('reference: the demonstration stations plan as their files say', () => {
    const verdicts = ['glaze-line', 'vial-stopper', 'relay-pins'].map((name) => plan(demoStation(name)));
    expect(verdicts.map(({ verdict }) => verdict)).toEqual(['meets', 'meets', 'marginal']);
    expect(verdicts[2]!.reasons.map(({ key }) => key)).toEqual(['light.signalToNoise']);
    expect(verdicts[2]!.reasons[0]!.remedy).toMatch(/^give it an exposure of/);
    expect(verdicts[1]!.planes).toHaveLength(4);
    for (const { invented, cautions } of verdicts) {
      expect(invented).toBe(true);
      expect(cautions.join(' ')).toMatch(/lock it out/);
    }
  });

  it('refuses a layout that cannot be built, naming the field', () => {
    const station = demoStation('glaze-line');
    const wrong = { ...station, layout: { ...station.layout, ringDistanceMm: 12 } };
    expect(() => plan(wrong)).toThrow(/ringDistanceMm is 12 mm; allowed: a finite number > 16 mm/);
    expect(stationSchema.safeParse(wrong).success).toBe(false);
  });
});
