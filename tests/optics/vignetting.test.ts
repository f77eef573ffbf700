import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  circleOverlapArea,
  fieldIllumination,
  type LayoutModel,
  unvignettedImageRadiusMm,
} from '../../src/optics/index.js';
import { anyLayout, imageSide, tunablePair } from './layouts.js';

describe('vignetting', () => {
  it('closed form: two equal circles a radius apart share 2π/3 − √3/2; half a radius apart 2·acos(1/4) − √15/8', () => {
    expect(circleOverlapArea(1, 1, 1)).toBeCloseTo((2 * Math.PI) / 3 - Math.sqrt(3) / 2, 12);
    expect(circleOverlapArea(1, 1, 0.5)).toBeCloseTo(2 * Math.acos(0.25) - Math.sqrt(15) / 8, 12);
  });

  it('degenerate: apart 0, inside the smaller one', () => {
    expect(circleOverlapArea(1, 2, 3)).toBe(0);
    expect(circleOverlapArea(1, 2, 0.99)).toBeCloseTo(Math.PI, 12);
  });

  it('closed form: object-side, the beam to a field point is displaced at the tunable lens by t·chief slope', () => {
    const model: LayoutModel = { ...tunablePair, clearApertureMm: 8 };
    const illumination = fieldIllumination({ model, focalPowerDpt: 0, imageHeightMm: 4 });
    expect(illumination.chiefRayAngleDeg).toBeCloseTo((Math.atan(4 / 16.5) * 180) / Math.PI, 9);
    // Chief slope before the lens is that behind it: the pupil sits in the lens. On-axis beam 2·16.5/2.8875·…
    const beamRadiusMm = 0.5 * 5.606060606;
    const expected = circleOverlapArea(beamRadiusMm, 4, (10 * 4) / 16.5) / (Math.PI * beamRadiusMm ** 2);
    expect(illumination.unvignettedShare).toBeCloseTo(expected, 8);
    const radiusMm = unvignettedImageRadiusMm({ model, focalPowerDpt: 0 })!;
    expect(radiusMm).toBeCloseTo(((4 - beamRadiusMm) * 16.5) / 10, 8);
  });

  it('closed form: where nothing is cut, cos⁴ of the chief ray alone is left: (1 + (h/v)²)⁻²', () => {
    const model: LayoutModel = { ...tunablePair, clearApertureMm: 30 };
    const at = fieldIllumination({ model, focalPowerDpt: 0, imageHeightMm: 4 });
    expect(at.unvignettedShare).toBe(1);
    expect(at.relativeIllumination).toBeCloseTo((1 + (4 / 16.5) ** 2) ** -2, 12);
  });

  it('property: all light on the axis, less outwards, none vignetted inside the unvignetted radius', () => {
    let cut = 0;
    fc.assert(
      fc.property(anyLayout, fc.double({ min: -2, max: 5, noNaN: true }), (model, focalPowerDpt) => {
        const at = (imageHeightMm: number) => fieldIllumination({ model, focalPowerDpt, imageHeightMm });
        expect(at(0).unvignettedShare).toBeCloseTo(1, 9);
        expect(at(0).relativeIllumination).toBeCloseTo(1, 9);
        expect(at(6).relativeIllumination).toBeLessThanOrEqual(at(3).relativeIllumination + 1e-12);
        expect(at(-3).relativeIllumination).toBeCloseTo(at(3).relativeIllumination, 12);
        const radiusMm = unvignettedImageRadiusMm({ model, focalPowerDpt });
        if (radiusMm === null) return;
        expect(at(radiusMm * 0.999).unvignettedShare).toBeCloseTo(1, 9);
        if (radiusMm < 0.01) return;
        cut += 1;
        expect(at(radiusMm * 1.1).unvignettedShare).toBeLessThan(1);
      }),
    );
    expect(cut).toBeGreaterThan(20);
  });

  it('degenerate: a tunable lens in the exit pupil cuts nothing off the axis', () => {
    const model: LayoutModel = { ...imageSide, gapMm: 35 * (1 - 0.8), clearApertureMm: 30 };
    expect(fieldIllumination({ model, focalPowerDpt: 0, imageHeightMm: 8 }).unvignettedShare).toBeCloseTo(1, 9);
  });

  it('refuses an image height that is not finite', () => {
    expect(() => fieldIllumination({ model: tunablePair, focalPowerDpt: 0, imageHeightMm: Number.NaN })).toThrow(
      /imageHeightMm/,
    );
  });
});
