import { describe, expect, it } from 'vitest';
import { lensMakerPowerDpt, surfaceBulgeMm, surfacePowerDpt } from '../../src/optics/index.js';

describe('lens maker', () => {
  it('reference: OpenStax m58530, a biconcave lens of n 1.55 and f −20 cm has radii of 22 cm', () => {
    const powerDpt = lensMakerPowerDpt({ refractiveIndex: 1.55, frontRadiusMm: -220, backRadiusMm: 220 });
    expect(1000 / powerDpt).toBeCloseTo(-200, 9);
  });

  it('degenerate: a plane has no power; a plano-convex lens has that of its curved side, whichever way it stands', () => {
    const refractiveIndex = 1.5;
    expect(surfacePowerDpt({ refractiveIndex, radiusMm: Infinity })).toBe(0);
    const one = lensMakerPowerDpt({ refractiveIndex, frontRadiusMm: 100, backRadiusMm: Infinity });
    const other = lensMakerPowerDpt({ refractiveIndex, frontRadiusMm: Infinity, backRadiusMm: -100 });
    expect(one).toBeCloseTo(5, 12);
    expect(other).toBeCloseTo(one, 12);
  });

  it('closed form: the bulge is that of the circle of the same power, 1 % less where y is a fifth of R', () => {
    const radiusMm = 100;
    const powerDpt = surfacePowerDpt({ refractiveIndex: 1.3, radiusMm });
    const bulgeMm = surfaceBulgeMm({ refractiveIndex: 1.3, surfacePowerDpt: powerDpt, apertureMm: 40 });
    expect(bulgeMm).toBeCloseTo(20 ** 2 / (2 * radiusMm), 12);
    expect(bulgeMm / (radiusMm - Math.sqrt(radiusMm ** 2 - 20 ** 2))).toBeCloseTo(0.99, 3);
  });

  it('refuses: a radius of 0, an index below 1', () => {
    expect(() => surfacePowerDpt({ refractiveIndex: 1.5, radiusMm: 0 })).toThrow(/radiusMm is 0; allowed/);
    expect(() => surfacePowerDpt({ refractiveIndex: 0.5, radiusMm: 10 })).toThrow(/refractiveIndex is 0.5/);
  });
});
