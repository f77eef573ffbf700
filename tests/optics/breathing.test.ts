import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { breathingAt, chiefRayMagnification, pupilView, workingDistanceAt } from '../../src/optics/index.js';
import { anyLayout, tunablePair } from './layouts.js';

describe('breathing', () => {
  it('property: in focus the chief ray has the paraxial magnification, in all three layouts', () => {
    fc.assert(
      fc.property(anyLayout, fc.double({ min: -2, max: 6, noNaN: true }), (model, focalPowerDpt) => {
        const focus = workingDistanceAt({ model, focalPowerDpt });
        if (focus.kind !== 'real' || focus.workingDistanceMm > 1e5) return;
        const found = breathingAt({ model, focalPowerDpt, workingDistanceMm: focus.workingDistanceMm });
        expect(found.magnification / focus.magnification).toBeCloseTo(1, 6);
        expect(found.relativeToSharp).toBeCloseTo(1, 6);
      }),
    );
  });

  it('reference: two object-side powers, 51.8 % between their own sharp planes (references/tables/tunable-pair.json: 0.047438/0.031250)', () => {
    const at = (focalPowerDpt: number) => workingDistanceAt({ model: tunablePair, focalPowerDpt }).magnification;
    expect(at(1) / at(0) - 1).toBeCloseTo(0.518, 3);
  });

  it('closed form: object-side, the ray through the fixed lens’s centre: m = −v / (x + t − P·x·t)', () => {
    const x = 300;
    const expected = -16.5 / (x + 10 - (3 / 1000) * x * 10);
    expect(chiefRayMagnification({ model: tunablePair, focalPowerDpt: 3, workingDistanceMm: x })).toBeCloseTo(
      expected,
      12,
    );
  });

  it('closed form: a tunable lens in touch with the stop does not breathe', () => {
    const model = { ...tunablePair, gapMm: 0 };
    const at = (focalPowerDpt: number) => chiefRayMagnification({ model, focalPowerDpt, workingDistanceMm: 300 });
    expect(at(4)).toBeCloseTo(at(0), 14);
  });

  it('degenerate: an object at the tunable lens has a size, but no sharp one', () => {
    expect(breathingAt({ model: tunablePair, focalPowerDpt: 1, workingDistanceMm: 0 }).relativeToSharp).toBeNull();
  });

  it('refuses an object at the entrance pupil', () => {
    const workingDistanceMm = pupilView({ model: tunablePair, focalPowerDpt: 0 }).beforeFirstPlaneMm;
    expect(() => chiefRayMagnification({ model: tunablePair, focalPowerDpt: 0, workingDistanceMm })).toThrow(
      /entrance pupil/,
    );
  });
});
