import { describe, expect, it } from 'vitest';
import { chiefRayMagnification } from '../../../src/optics/index.js';
import { fitBreathing, type SeenGrowth, sizeRatio } from '../../../src/procedures/autofocus/model/focus-breathing.js';
import { stationFocusOptics } from '../../../src/procedures/index.js';
import { layoutModelOf, middleDistanceMm } from '../../../src/station/index.js';
import { demoStation } from '../../station/demo-stations.js';

const usual = { usualPerDpt: 0.01, stdPerDpt: 0.02 };
const growthOf = (perDpt: number, fromDpt: number, toDpt: number, factor = 1): SeenGrowth => ({
  fromDpt,
  toDpt,
  scaleRatio: sizeRatio({ perDpt }, { fromDpt, toDpt }) * factor,
  scaleStd: 0.001,
});

describe('breathing of a focus search', () => {
  it('reference: the law is that of the chief ray through a station’s layout', () => {
    const station = demoStation('glaze-line');
    const model = layoutModelOf(station);
    const { usualPerDpt } = stationFocusOptics(station).breathing!;
    const { powerMinDpt, powerMaxDpt } = station.parts.tunableLens;
    const drawn = (focalPowerDpt: number) =>
      chiefRayMagnification({ model, focalPowerDpt, workingDistanceMm: middleDistanceMm(station) });
    expect(Math.abs(usualPerDpt)).toBeGreaterThan(1e-4);
    for (const part of [0.2, 0.5, 0.8, 1]) {
      const toDpt = powerMinDpt + part * (powerMaxDpt - powerMinDpt);
      const ratio = sizeRatio({ perDpt: usualPerDpt }, { fromDpt: powerMinDpt, toDpt });
      expect(ratio).toBeCloseTo(drawn(toDpt) / drawn(powerMinDpt), 6);
    }
  });

  it.each([-0.02, 0, 0.012, 0.03])('recovery: %f a dioptre, one of four pairs of frames misleading', (perDpt) => {
    const growths = [
      growthOf(perDpt, -5, 3),
      growthOf(perDpt, -5, 1),
      growthOf(perDpt, 3, 1),
      growthOf(perDpt, 3, -4, 1.1),
    ];
    expect(Math.abs(fitBreathing(growths, usual).perDpt - perDpt)).toBeLessThan(1.5e-3);
    expect(Math.abs(fitBreathing(growths.slice(0, 3), usual).perDpt - perDpt)).toBeLessThan(2e-4);
  });

  it('degenerate: without a measured growth the usual one stands', () => {
    expect(fitBreathing([], usual)).toEqual({ perDpt: 0.01 });
    expect(sizeRatio({ perDpt: 0 }, { fromDpt: -5, toDpt: 5 })).toBe(1);
  });
});
