import { describe, expect, it } from 'vitest';
import { plannedPlane } from '../../src/planning/planned-plane.js';
import { sharpnessAssumptions } from '../../src/planning/sharpness-assumptions.js';
import { layoutModelOf, taskPlanesOf } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

const glaze = demoStation('glaze-line');
const of = (station: typeof glaze) => {
  const model = layoutModelOf(station);
  const planes = taskPlanesOf(station).map((plane) => plannedPlane({ station, model, plane, middleFNumber: null }));
  return sharpnessAssumptions({ station, model, planes });
};

describe('assumptions on colour and coma', () => {
  it('property: each says its effect, and goes away when the part says what it has', () => {
    const list = of(glaze);
    expect(list).toHaveLength(3);
    for (const line of list) {
      const [, then, now] = /would be ([\d.]+), not (\d[\d.]*\d)/.exec(line)!;
      expect(Number(then)).toBeLessThanOrEqual(Number(now));
      expect(Number(then)).toBeGreaterThan(0);
    }
    const told = changed(glaze, {
      parts: { tunableLens: { abbeNumber: 40, gravityComaRmsWaves: 0.03 }, fixedLens: { axialColourUm: 12 } },
      layout: { opticalAxisFromVerticalDeg: 0 },
    });
    expect(of(told)).toEqual([]);
  });

  it('property: narrow light and a vertical axis need no assumption', () => {
    const narrow = changed(glaze, {
      parts: { light: { bandwidthNm: 20 } },
      layout: { opticalAxisFromVerticalDeg: 180 },
    });
    expect(of(narrow)).toEqual([]);
  });

  it('property: coma without an orientation is taken at its worst, and says so', () => {
    const station = changed(glaze, { parts: { tunableLens: { gravityComaRmsWaves: 0.05 } } });
    expect(of(station).at(-1)).toMatch(/Optical axis taken as horizontal/);
  });

  it('degenerate: a layout that focuses nothing still says what is assumed', () => {
    const blind = changed(glaze, { task: { nearMm: 0.001, farMm: 0.002 }, layout: { gapMm: 0 } });
    expect(of(blind).every((line) => !line.includes('NaN'))).toBe(true);
  });
});
