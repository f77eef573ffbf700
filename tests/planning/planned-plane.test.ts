import { describe, expect, it } from 'vitest';
import { cornerHeightMm } from '../../src/planning/corner-mtf.js';
import { plannedPlane } from '../../src/planning/planned-plane.js';
import { layoutModelOf } from '../../src/station/index.js';
import { demoStation } from '../station/demo-stations.js';
import { changed } from './changed-station.js';

/** A thin tunable lens 10 mm before a thin lens of f = 16 mm at f/4, sensor of 1280 × 1024 pixels of 4.8 µm 16.5 mm behind it. */
const station = changed(demoStation('glaze-line'), {
  task: { nearMm: 200, farMm: 500 },
  parts: {
    fixedLens: { focalLengthMm: 16, pupilMagnification: 1 },
    tunableLens: { frontToPlaneMm: 0, clearApertureMm: 30 },
    sensor: { blackLevelDn: 4 },
    spacer: { lengthMm: 0.5 },
  },
  layout: { gapMm: 10, ringDistanceMm: null },
});
const model = layoutModelOf(station);
const plane = { name: 'middle', workingDistanceMm: 254.4204 };
const at = (middleFNumber: number | null) => plannedPlane({ station, model, plane, middleFNumber });

describe('plannedPlane', () => {
  it('closed form: light goes with the square of the f-number where it was stated over the plane’s', () => {
    const same = at(null);
    const { workingFNumber } = same.prediction;
    // v / (2·R) of the thin lens: 16.5 / (16/4)
    expect(workingFNumber).toBeCloseTo(4.125, 9);
    expect(same.irradianceRatio).toBe(1);
    expect(at(workingFNumber).irradianceRatio).toBeCloseTo(1, 12);
    const quarter = at(workingFNumber / 2);
    expect(quarter.irradianceRatio).toBeCloseTo(1 / 4, 12);
    expect(at(3 * workingFNumber).irradianceRatio).toBeCloseTo(9, 12);
    expect(quarter.prediction.meanGreyDn - 4).toBeCloseTo((same.prediction.meanGreyDn - 4) / 4, 9);
  });

  it('closed form: the corner is half the diagonal off; there cos⁴ alone is left where nothing is cut', () => {
    const heightMm = 0.0048 * (Math.sqrt(1280 ** 2 + 1024 ** 2) / 2);
    expect(cornerHeightMm(station)).toBeCloseTo(heightMm, 12);
    expect(at(null).cornerIllumination).toBeCloseTo((1 + (heightMm / 16.5) ** 2) ** -2, 9);
  });
});
