import { describe, expect, it } from 'vitest';
import { type LayoutModel, requireLayoutModel, sensorDistanceMm } from '../../src/optics/index.js';
import { atStop, imageSide, tunablePair } from './layouts.js';

describe('layout model', () => {
  it('closed form: the sensor sits where the fixed lens images the ring distance, plus the spacer', () => {
    expect(sensorDistanceMm(tunablePair)).toBe(16.5);
    expect(sensorDistanceMm({ ...tunablePair, ringDistanceMm: 3000, spacerMm: 0 })).toBeCloseTo((16 * 3000) / 2984, 12);
  });

  it.each<[string, LayoutModel, RegExp]>([
    [
      'zero aperture',
      { ...tunablePair, clearApertureMm: 0 },
      /clearApertureMm is 0 mm; allowed: a finite number > 0 mm/,
    ],
    ['NaN gap', { ...tunablePair, gapMm: Number.NaN }, /gapMm is NaN mm/],
    ['NaN spacer', { ...tunablePair, spacerMm: Number.NaN }, /spacerMm is NaN/],
    ['infinite front', { ...tunablePair, frontOffsetMm: Number.POSITIVE_INFINITY }, /frontOffsetMm is Infinity/],
    [
      'ring inside the focal length',
      { ...tunablePair, ringDistanceMm: 16 },
      /ringDistanceMm is 16 mm; allowed: a finite number > 16 mm/,
    ],
    ['sensor before the lens', { ...tunablePair, spacerMm: -17 }, /spacerMm is -17 mm; allowed: > -16 mm/],
    ['tunable lens behind the sensor', { ...imageSide, gapMm: 60 }, /gapMm is 60 mm; allowed: </],
    ['gap at the stop', { ...atStop, gapMm: 1 }, /gapMm is 1 mm; allowed: 0 mm/],
    ['no f-number', { ...tunablePair, fixedLens: { ...tunablePair.fixedLens, fNumber: 0 } }, /fixedLens.fNumber is 0/],
    [
      'pupils',
      { ...tunablePair, fixedLens: { ...tunablePair.fixedLens, pupilMagnification: -1 } },
      /pupilMagnification/,
    ],
  ])('refuses %s', (_, model, message) => {
    expect(() => requireLayoutModel(model)).toThrow(RangeError);
    expect(() => requireLayoutModel(model)).toThrow(message);
  });
});
