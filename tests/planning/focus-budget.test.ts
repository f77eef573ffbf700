import { describe, expect, it } from 'vitest';
import { planStation } from '../../src/planning/index.js';
import type { Station } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const plan = (station: Station) => planStation(station, { stationSha256: '', softwareVersion: '' });

const station = changed(demoStation('glaze-line'), {
  task: { temperatureMinDegC: 15, temperatureMaxDegC: 45 },
  parts: {
    tunableLens: {
      controlStepDpt: 0.012,
      repeatabilityDpt: 0.03,
      hysteresisDpt: 0.024,
      temperatureCoefficientDptPerDegC: 0.004,
      referenceTemperatureDegC: 25,
    },
  },
  commissioning: { temperatureStdDegC: 0.5, distanceStdMm: 0 },
});
const valuesOf = (s: Station) => Object.fromEntries(plan(s).budget[0]!.terms.map((term) => [term.name, term]));

describe('focus budget', () => {
  it('closed form: each term by hand', () => {
    const terms = valuesOf(station);
    expect(terms['control-step']!.valueDpt).toBeCloseTo(0.012 / 3.4641016, 8);
    expect(terms['control-step']!.worstCaseDpt).toBeCloseTo(0.006, 12);
    expect(terms.repeatability).toMatchObject({ valueDpt: 0.03, worstCaseDpt: 0.09 });
    expect(terms.hysteresis!.valueDpt).toBeCloseTo(0.024 / 3.4641016, 8);
    expect(terms.hysteresis!.worstCaseDpt).toBeCloseTo(0.012, 12);
    // shifts −0.04 … +0.08 dpt: √((0.0016 − 0.0032 + 0.0064)/3) = 0.04
    expect(terms.temperature!.valueDpt).toBeCloseTo(0.04, 12);
    expect(terms.temperature!.worstCaseDpt).toBeCloseTo(0.08, 12);
    // a point: √(0.03² + 0.002²); seven distances, five fitted parameters
    expect(terms.calibration!.valueDpt).toBeCloseTo(Math.sqrt(0.03 ** 2 + 0.002 ** 2) * Math.sqrt(5 / 7), 12);
  });

  it('closed form: root sum of squares and worst case of the terms', () => {
    const { terms, rootSumSquareDpt, worstCaseDpt } = plan(station).budget[0]!;
    expect(rootSumSquareDpt ** 2).toBeCloseTo(
      terms.reduce((sum, { valueDpt }) => sum + valueDpt ** 2, 0),
      15,
    );
    expect(worstCaseDpt).toBeCloseTo(0.006 + 0.09 + 0.012 + 0.08 + 2 * terms[4]!.valueDpt, 12);
  });

  it('closed form: to change first is the temperature where it drifts most, with what that leaves', () => {
    const drifting = changed(station, { parts: { tunableLens: { repeatabilityDpt: 0.01 } } });
    const { firstChange, terms, rootSumSquareDpt } = plan(drifting).budget[0]!;
    expect(firstChange).toMatchObject({ term: 'temperature', change: expect.stringMatching(/compensateTemperature/) });
    // temperature 0.04 dpt → 0.004 · 0.5 dpt
    expect(firstChange!.rootSumSquareDpt).toBeCloseTo(
      Math.sqrt(rootSumSquareDpt ** 2 - terms[3]!.valueDpt ** 2 + 0.002 ** 2),
      12,
    );
    const heeded = plan(changed(drifting, { controls: { compensateTemperature: true } })).budget[0]!;
    expect(heeded.rootSumSquareDpt).toBeCloseTo(firstChange!.rootSumSquareDpt, 9);
  });

  it.each([
    ['control-step', { controlStepDpt: 0.4 }, { controlStepDpt: 0.1 }],
    ['repeatability', { repeatabilityDpt: 0.2 }, { repeatabilityDpt: 0.1 }],
    ['hysteresis', { hysteresisDpt: 0.5 }, { hysteresisDpt: 0 }],
  ] as const)('property: where %s rules, changing it first leaves what is said', (term, rule, heed) => {
    const ruled = changed(station, { parts: { tunableLens: { temperatureCoefficientDptPerDegC: 0, ...rule } } });
    const { firstChange } = plan(ruled).budget[0]!;
    expect(firstChange!.term).toBe(term);
    const heeded = plan(changed(ruled, { parts: { tunableLens: heed } })).budget[0]!;
    // the calibration gains from a better repeatability too
    expect(heeded.rootSumSquareDpt).toBeLessThanOrEqual(firstChange!.rootSumSquareDpt + 1e-12);
    if (term !== 'repeatability') expect(heeded.rootSumSquareDpt).toBeCloseTo(firstChange!.rootSumSquareDpt, 12);
  });

  it('degenerate: where nothing moves the focus there is nothing to change', () => {
    const ideal = changed(station, {
      parts: {
        tunableLens: {
          controlStepDpt: 0,
          repeatabilityDpt: 0,
          hysteresisDpt: 0,
          temperatureCoefficientDptPerDegC: 0,
        },
      },
    });
    expect(plan(ideal).budget[0]!.firstChange).toBeNull();
  });

  it('closed form: a corrected temperature leaves the reading’s uncertainty', () => {
    const corrected = changed(station, { controls: { compensateTemperature: true } });
    expect(valuesOf(corrected).temperature!.valueDpt).toBeCloseTo(0.004 * 0.5, 12);
  });

  it('closed form: the distance’s uncertainty enters the calibration through dP/ds', () => {
    const uncertain = changed(station, {
      parts: { tunableLens: { repeatabilityDpt: 0 } },
      commissioning: { distanceStdMm: 1, temperatureStdDegC: 0 },
    });
    // object-side: dP/ds = 1000/x², x = 340 mm + 6 mm from front to plane
    const pointDpt = 1000 / 346 ** 2;
    expect(valuesOf(uncertain).calibration!.valueDpt).toBeCloseTo(pointDpt * Math.sqrt(5 / 7), 4);
  });

  it('property: a lens less repeatable than the depth of field fails, with an f-number that heals it', () => {
    const weak = changed(demoStation('glaze-line'), {
      task: { smallestFeatureMm: 0.3 },
      parts: { tunableLens: { repeatabilityDpt: 0.2 } },
    });
    const { ledger, verdict } = plan(weak);
    const row = ledger.find(({ key }) => key === 'focus.near.budget')!;
    expect(verdict).toBe('fails');
    expect(row.reason).toMatch(
      /^Fails: at 340 mm depth of field by the task’s contrast allows ±.* mm .*, focus stays within ±.*, most of it repeatability/,
    );
    const fNumber = Number(/close the aperture to f\/([\d.]+)/.exec(row.remedy!)![1]);
    const healed = plan(changed(weak, { layout: { fNumber } }));
    expect(healed.ledger.find(({ key }) => key === 'focus.near.budget')!.verdict).toBe('meets');
  });

  it('degenerate: where the contrast is not reached in focus there is no depth of field', () => {
    const blind = changed(demoStation('glaze-line'), { task: { contrastNeeded: 0.95 } });
    const { planes, budget, ledger, planesToCover } = plan(blind);
    expect(planes[0]).toMatchObject({ depthOfFieldMm: 0, depthOfField: { taskContrast: null } });
    expect(budget[0]!.allowedHalfWidthDpt).toBe(0);
    expect(planesToCover).toBeNull();
    expect(ledger.find(({ key }) => key === 'focus.near.budget')!.reason).toMatch(
      /no depth of field by the task’s contrast: the contrast needed is not reached even in focus/,
    );
  });
});
