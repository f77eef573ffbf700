import { describe, expect, it } from 'vitest';
import {
  chiefRayMagnification,
  contrastDepthOfField,
  layoutDefocusWaves,
  systemOtf,
  traceSystem,
} from '../../src/optics/index.js';
import { threeLayouts, tunablePair } from './layouts.js';

const request = {
  model: tunablePair,
  focalPowerDpt: 3,
  spatialFrequencyPerMm: 5,
  frequencyOn: 'object' as const,
  contrastThreshold: 0.3,
  wavelengthNm: 550,
  pixelPitchUm: 3.45,
};

describe('depth of field by contrast', () => {
  it.each(threeLayouts)('closed form: %s, contrast at both limits is the threshold', (_, model) => {
    const depth = contrastDepthOfField({ ...request, model, focalPowerDpt: 2 });
    if (depth.kind !== 'depth') throw new Error(depth.reason);
    const { workingFNumber } = traceSystem({ model, focalPowerDpt: 2 });
    for (const workingDistanceMm of [depth.nearMm, depth.farMm!]) {
      const where = { model, focalPowerDpt: 2, workingDistanceMm };
      const contrast = systemOtf({
        spatialFrequencyPerMm: 5 / Math.abs(chiefRayMagnification(where)),
        workingFNumber,
        wavelengthNm: 550,
        pixelPitchUm: 3.45,
        defocusWaves: layoutDefocusWaves({ ...where, wavelengthNm: 550 }),
      });
      expect(contrast).toBeCloseTo(0.3, 6);
    }
  });

  it('property: a detail on the object falls finer with distance, so the far side is the shallower one in dpt', () => {
    const depth = contrastDepthOfField(request);
    if (depth.kind !== 'depth') throw new Error(depth.reason);
    expect(depth.nearHalfWidthDpt).toBeGreaterThan(depth.farHalfWidthDpt);
    const onSensor = contrastDepthOfField({ ...request, frequencyOn: 'sensor', spatialFrequencyPerMm: 62.6 });
    if (onSensor.kind !== 'depth') throw new Error(onSensor.reason);
    expect(Math.abs(onSensor.nearHalfWidthDpt - onSensor.farHalfWidthDpt)).toBeLessThan(0.001);
  });

  it('property: a lower threshold or a smaller pixel deepens the field; motion and wavefront error make it shallow', () => {
    const total = (change: Partial<typeof request> & { motionBlurUm?: number; wavefrontErrorRmsWaves?: number }) => {
      const depth = contrastDepthOfField({ ...request, ...change });
      return depth.kind === 'depth' ? depth.totalMm! : 0;
    };
    expect(total({ contrastThreshold: 0.2 })).toBeGreaterThan(total({}));
    expect(total({ pixelPitchUm: 2 })).toBeGreaterThan(total({}));
    expect(total({ motionBlurUm: 5 })).toBeLessThan(total({}));
    expect(total({ wavefrontErrorRmsWaves: 0.05 })).toBeLessThan(total({}));
  });

  it('property: nowhere between the limits does the contrast fall below the threshold', () => {
    const depth = contrastDepthOfField({ ...request, contrastThreshold: 0.02 });
    if (depth.kind !== 'depth') throw new Error(depth.reason);
    const { workingFNumber } = traceSystem(request);
    for (let i = 1; i < 200; i++) {
      const workingDistanceMm = depth.nearMm + ((depth.farMm! - depth.nearMm) * i) / 200;
      const where = { ...request, workingDistanceMm };
      const contrast = systemOtf({
        ...request,
        spatialFrequencyPerMm: 5 / Math.abs(chiefRayMagnification(where)),
        workingFNumber,
        defocusWaves: layoutDefocusWaves(where),
      });
      expect(contrast).toBeGreaterThan(0.02);
    }
  });

  it('degenerate: with a coarse detail on the sensor and a small aperture the field reaches infinity', () => {
    const model = { ...tunablePair, fixedLens: { ...tunablePair.fixedLens, fNumber: 16 }, spacerMm: 0 };
    const depth = contrastDepthOfField({
      ...request,
      model,
      focalPowerDpt: 0.3,
      frequencyOn: 'sensor',
      spatialFrequencyPerMm: 10,
    });
    if (depth.kind !== 'depth') throw new Error(depth.reason);
    expect(depth.farMm).toBeNull();
  });

  it('degenerate: a detail too fine even in focus has no depth, and the contrast says so', () => {
    const depth = contrastDepthOfField({ ...request, spatialFrequencyPerMm: 40 });
    expect(depth.kind).toBe('none');
    expect(depth.kind === 'none' && depth.reason).toMatch(/in focus the contrast is .*, below the threshold of 0.3/);
  });

  it('refuses thresholds that are none, and a power without a sharp object', () => {
    expect(() => contrastDepthOfField({ ...request, contrastThreshold: 1 })).toThrow(/contrastThreshold is 1/);
    expect(() => contrastDepthOfField({ ...request, contrastThreshold: 0 })).toThrow(/contrastThreshold is 0/);
    expect(() => contrastDepthOfField({ ...request, spatialFrequencyPerMm: Number.NaN })).toThrow(
      /spatialFrequencyPerMm/,
    );
    expect(() => contrastDepthOfField({ ...request, focalPowerDpt: -2 })).toThrow(/beyond-infinity/);
  });
});
