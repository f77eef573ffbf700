import { describe, expect, it } from 'vitest';
import { focusCase } from '../../bench/focus-suite/focus-case.js';
import { lensResponseOf } from '../../bench/focus-suite/lens-response.js';
import { type FocusRunner, isRight, runSuite, suiteCases } from '../../bench/focus-suite/run-suite.js';
import { suiteTable } from '../../bench/focus-suite/suite-table.js';
import { measureFocus, regionStatistics } from '../../src/image/index.js';
import { classicMethod, runFocusSearch } from '../../src/procedures/index.js';

const sweep: FocusRunner = (focusCase, camera) =>
  runFocusSearch({
    camera,
    region: focusCase.region,
    response: lensResponseOf(focusCase),
    method: classicMethod('full-sweep', { lookCount: 40 }),
  });

describe('focus suite', () => {
  it('property: more than 500 cases, numbered once each; a part of them is a part', () => {
    const cases = suiteCases();
    expect(cases.length).toBeGreaterThanOrEqual(500);
    expect(new Set(cases.map(({ index }) => index)).size).toBe(cases.length);
    const part = suiteCases({ every: 10, kinds: ['dim', 'black'] });
    for (const one of part) expect(cases).toContainEqual(one);
  });

  it('property: the same case gives the same frames, and other cases other ones', async () => {
    const frame = async (index: number) => (await focusCase(index, 'dim').open().camera.grab()).image.data;
    const first = await frame(3);
    expect(await frame(3)).toEqual(first);
    expect(await frame(4)).not.toEqual(first);
  });

  it.each([0, 5, 361])(
    'recovery: case %d is sharpest where its truth says, with the light that it says',
    async (index) => {
      const drawn = focusCase(index, index < 360 ? 'well-exposed' : 'low-light');
      const { station, region, bestPowerDpt, halfWidthDpt, meanLevels } = drawn;
      const { powerMinDpt, powerMaxDpt } = station.parts.tunableLens;
      const { camera, framePowersDpt } = drawn.open();
      const seen: { offHalfWidths: number; measure: number; meanDn: number }[] = [];
      for (let step = -5; step <= 5; step += 0.5) {
        const focalPowerDpt = Math.min(powerMaxDpt, Math.max(powerMinDpt, bestPowerDpt + step * halfWidthDpt));
        await camera.setFocalPower({ focalPowerDpt });
        await camera.clock.sleep(2000);
        const { image } = await camera.grab();
        const [truePowerDpt] = framePowersDpt.at(-1)!;
        seen.push({
          offHalfWidths: (truePowerDpt! - bestPowerDpt) / halfWidthDpt,
          measure: measureFocus({ image, region, measure: 'tenengrad' }),
          meanDn: regionStatistics({ image, region }).meanDn,
        });
      }
      const top = seen.reduce((a, b) => (b.measure > a.measure ? b : a));
      expect(Math.abs(top.offHalfWidths)).toBeLessThan(0.8);
      const { bitDepth, blackLevelDn } = station.parts.sensor;
      const levels = (top.meanDn - blackLevelDn) / 2 ** (bitDepth - 8);
      expect(levels / meanLevels).toBeGreaterThan(0.8);
      expect(levels / meanLevels).toBeLessThan(1.25);
    },
  );

  it('property: the bound falls with every frame, and lies far below the depth of field in good light', () => {
    const { bestPowerDpt, halfWidthDpt, boundDpt } = focusCase(1, 'well-exposed');
    const at = (...widths: number[]) => boundDpt(widths.map((w) => [bestPowerDpt + w * halfWidthDpt]));
    expect(at(20)).toBeGreaterThan(1000);
    expect(at(20, -10, 2)).toBeLessThan(at(20, -10));
    expect(at(3, -2, 0.2) / halfWidthDpt).toBeLessThan(0.02);
  });

  it('recovery: a full sweep is right on one case of most kinds, and the table says so', async () => {
    const cases = suiteCases({ every: 1000 }).filter(({ kind }) => kind !== 'wrong-direction' && kind !== 'two-planes');
    const { sweep: outcomes } = await runSuite({ cases, runners: { sweep } });
    const wrong = outcomes.filter((outcome) => !isRight(outcome)).map(({ focusCase: { kind } }) => kind);
    expect(wrong).toEqual([]);
    expect(suiteTable('full sweep', outcomes)).toContain('| well-exposed | 1 | 100.0 % | 0 | 0 | 41 / 41 |');
  });
});
