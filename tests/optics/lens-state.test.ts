import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { focalPowerActualDpt, focalPowerCommandDpt, type LensState } from '../../src/optics/index.js';

const state: LensState = {
  gain: 1.03,
  offsetDpt: 0.08,
  temperatureDegC: 40,
  referenceTemperatureDegC: 25,
  temperatureCoefficientDptPerDegC: -0.01,
};

describe('lens state', () => {
  it('closed form: 1.03 · 2 + 0.08 − 0.01 · 15 = 1.99 dpt', () => {
    expect(focalPowerActualDpt({ ...state, commandedDpt: 2 })).toBeCloseTo(1.99, 12);
  });

  it('property: command and actual power are inverse', () => {
    fc.assert(
      fc.property(fc.double({ min: -10, max: 10, noNaN: true }), (actualDpt) => {
        const commandedDpt = focalPowerCommandDpt({ ...state, actualDpt });
        expect(focalPowerActualDpt({ ...state, commandedDpt })).toBeCloseTo(actualDpt, 9);
      }),
    );
  });

  it('refuses a lens without gain and values that are not finite', () => {
    expect(() => focalPowerCommandDpt({ ...state, gain: 0, actualDpt: 1 })).toThrow(/gain is 0/);
    expect(() => focalPowerActualDpt({ ...state, commandedDpt: Number.NaN })).toThrow(/commandedDpt is NaN/);
    expect(() => focalPowerActualDpt({ ...state, temperatureDegC: Number.NaN, commandedDpt: 1 })).toThrow(
      /temperatureDegC is NaN/,
    );
  });
});
