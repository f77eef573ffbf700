import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { determinant, layoutMatrices, multiplyMatrices } from '../../src/optics/index.js';
import { anyLayout } from './layouts.js';

describe('layout matrices', () => {
  it('property: determinant 1, and first plane → stop → sensor is first plane → sensor', () => {
    fc.assert(
      fc.property(anyLayout, fc.double({ min: -5, max: 8, noNaN: true }), (model, focalPowerDpt) => {
        const { total, fixedLensStop, tunableLensStop } = layoutMatrices({ model, focalPowerDpt });
        expect(determinant(total)).toBeCloseTo(1, 9);
        for (const stop of [fixedLensStop, tunableLensStop]) {
          const way = multiplyMatrices(stop.toSensor, stop.fromFirstPlane);
          for (const key of ['a', 'b', 'c', 'd'] as const) expect(way[key]).toBeCloseTo(total[key], 7);
        }
      }),
    );
  });
});
