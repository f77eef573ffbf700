import { describe, expect, it } from 'vitest';
import { focusStrategyRows, meanLevelDn, planStation, predictFocusStrategy } from '../../src/planning/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const names = ['glaze-line', 'vial-stopper', 'relay-pins'];

describe('focus strategy', () => {
  it.each(names)(
    'property: %s: more light, a smaller bound and a greater certainty, up to what the lens allows',
    (name) => {
      const { byLight } = predictFocusStrategy(demoStation(name))!;
      for (let i = 1; i < byLight.length; i++) {
        expect(byLight[i]!.boundStdDpt).toBeLessThan(byLight[i - 1]!.boundStdDpt);
        expect(byLight[i]!.insideProbability).toBeGreaterThanOrEqual(byLight[i - 1]!.insideProbability - 1e-12);
      }
    },
  );

  it.each(names)('property: %s: at its own light it says what the plan says', (name) => {
    const station = demoStation(name);
    const plan = planStation(station, { stationSha256: '', softwareVersion: '' });
    const { own, plane, timeMs } = predictFocusStrategy(station)!;
    const probes = plan.autofocus!.searches.find((search) => search.name === 'three-probes')!;
    expect([plane, own.insideProbability, timeMs]).toEqual([
      plan.autofocus!.plane,
      probes.insideProbability,
      probes.timeMs,
    ]);
    expect(own.meanLevelDn).toBeCloseTo(meanLevelDn(station), 9);
  });

  it('closed form: what limits is the greatest of noise, repeatability and control step', () => {
    const lens = (values: object) => changed(demoStation('glaze-line'), { parts: { tunableLens: values } });
    const limitedBy = (station: Parameters<typeof predictFocusStrategy>[0]) => predictFocusStrategy(station)!.limitedBy;
    expect(limitedBy(lens({ repeatabilityDpt: 0.05, controlStepDpt: 0.001 }))).toBe('repeatability');
    expect(limitedBy(lens({ repeatabilityDpt: 0.001, controlStepDpt: 0.1 }))).toBe('control-step');
    expect(limitedBy(lens({ repeatabilityDpt: 1e-6, controlStepDpt: 1e-6 }))).toBe('noise');
  });

  it('property: each method has a row, and one that is wrong too often says what to do', () => {
    const station = demoStation('glaze-line');
    const score = {
      sceneCount: 100,
      refusedCount: 2,
      medianFrameCount: 3,
      ninetyFifthFrameCount: 5,
      timeMedianMs: 70,
      timeNinetyFifthMs: 90,
      byLight: [],
    };
    const rows = focusStrategyRows({
      station,
      prediction: predictFocusStrategy(station),
      methods: [
        { ...score, method: 'hill-climb', rightCount: 80 },
        { ...score, method: 'fibonacci', rightCount: 98 },
      ],
    });
    const verdicts = rows.map(({ key, verdict, remedy }) => [key, verdict, remedy !== null]);
    expect(verdicts).toContainEqual(['focus.method.hill-climb', 'fails', true]);
    expect(verdicts).toContainEqual(['focus.method.fibonacci', 'meets', false]);
  });
});
