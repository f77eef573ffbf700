import { describe, expect, it } from 'vitest';
import { drawBuildErrors, noBuildErrors } from '../../src/twin/index.js';
import { smallStation, withLens } from './small-station.js';

const many = Array.from({ length: 400 }, (_, seed) => drawBuildErrors({ station: smallStation, seed }));
const std = (values: number[], about: number) =>
  Math.sqrt(values.reduce((sum, value) => sum + (value - about) ** 2, 0) / values.length);

describe('build errors', () => {
  it('property: the same seed draws the same errors, another seed others', () => {
    expect(drawBuildErrors({ station: smallStation, seed: 9 })).toEqual(
      drawBuildErrors({ station: smallStation, seed: 9 }),
    );
    expect(drawBuildErrors({ station: smallStation, seed: 9 })).not.toEqual(
      drawBuildErrors({ station: smallStation, seed: 10 }),
    );
  });

  it('property: over many stations the spread is that of the tolerances, and none lies beyond 2.5 σ', () => {
    const { tolerance } = smallStation.parts.tunableLens;
    const offsets = many.map(({ lensOffsetDpt }) => lensOffsetDpt);
    expect(std(offsets, 0) / tolerance.offsetDpt).toBeGreaterThan(0.85);
    expect(std(offsets, 0) / tolerance.offsetDpt).toBeLessThan(1.1);
    expect(Math.max(...offsets.map(Math.abs))).toBeLessThanOrEqual(2.5 * tolerance.offsetDpt);
    const rings = many.map(({ ringDistanceRatio }) => ringDistanceRatio);
    expect(std(rings, 1) / smallStation.parts.fixedLens.tolerance.ringDistanceRelative).toBeCloseTo(0.95, 0);
  });

  it('closed form: the balanced rms of the spherical aberration is 30 to 80 % of the parts’ wavefront error', () => {
    const { fixedLens, tunableLens, light } = smallStation.parts;
    const rms = Math.hypot(fixedLens.wavefrontErrorRmsWaves, tunableLens.wavefrontErrorRmsWaves);
    for (const { sphericalAberrationNm } of many) {
      const share = Math.abs(sphericalAberrationNm) / light.wavelengthNm / (6 * Math.sqrt(5)) / rms;
      expect(share).toBeGreaterThanOrEqual(0.3);
      expect(share).toBeLessThanOrEqual(0.8);
    }
    expect(new Set(many.map(({ sphericalAberrationNm }) => Math.sign(sphericalAberrationNm))).size).toBe(2);
  });

  it('property: a new tolerance on one part leaves the errors of the others as they were', () => {
    const before = drawBuildErrors({ station: smallStation, seed: 4 });
    const after = drawBuildErrors({
      station: withLens({ tolerance: { ...smallStation.parts.tunableLens.tolerance, offsetDpt: 0.2 } }),
      seed: 4,
    });
    expect({ ...after, lensOffsetDpt: 0 }).toEqual({ ...before, lensOffsetDpt: 0 });
    expect(after.lensOffsetDpt).toBeCloseTo((before.lensOffsetDpt * 0.2) / 0.05, 12);
  });

  it('degenerate: no build errors name the same fields and change nothing', () => {
    expect(Object.keys(noBuildErrors()).sort()).toEqual(Object.keys(many[0]!).sort());
    expect(noBuildErrors()).toMatchObject({ ringDistanceRatio: 1, lensGain: 1, lensOffsetDpt: 0, hysteresisDpt: 0 });
  });
});
