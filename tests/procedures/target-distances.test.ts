import { describe, expect, it } from 'vitest';
import { nearestDistanceMm, targetDistancesMm } from '../../src/procedures/distance-calibration/target-distances.js';
import { glazeStation } from './glaze-station.js';

describe('target distances', () => {
  it('closed form: seven from near to far, even steps of vergence, in hundredths of a millimetre', () => {
    const distances = targetDistancesMm(glazeStation(), { distancesMm: null });
    expect(distances).toEqual([340, 362.74, 388.74, 418.76, 453.8, 495.23, 545]);
    const steps = distances.slice(1).map((mm, i) => 1000 / distances[i]! - 1000 / mm);
    for (const step of steps) expect(step).toBeCloseTo((1000 / 340 - 1000 / 545) / 6, 3);
  });

  it('closed form: the station’s own list, and before it what a stage with fixed places has', () => {
    const own = glazeStation((file) => {
      file.commissioning = { targetDistancesMm: [350, 380, 420, 460, 520] };
    });
    expect(targetDistancesMm(own, { distancesMm: null })).toEqual([350, 380, 420, 460, 520]);
    expect(targetDistancesMm(own, { distancesMm: [400, 500] })).toEqual([400, 500]);
  });

  it('closed form: nearest in vergence, not in millimetres', () => {
    // 1/400 lies 0.000833 from 1/300 and 0.000786 from 1/583
    expect(nearestDistanceMm([300, 583], 400)).toBe(583);
  });
});
