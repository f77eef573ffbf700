import { describe, expect, it } from 'vitest';
import {
  closeUpDistanceMm,
  extensionTubeMagnification,
  gapMatrix,
  lensPair,
  systemMatrix,
  thinLensMatrix,
  touchingLensesPowerDpt,
} from '../../src/optics/index.js';

describe('two lenses', () => {
  // Computed from Gullstrand's equation (formula from memory of the standard texts, recomputed).
  it.each([
    [10, 10, 50, 15, 66.6667, 33.3333, 33.3333],
    [20, -10, 30, 16, 62.5, 25, 81.25],
    [40, 2, 10, 41.2, 24.2718, 14.5631, 23.7864],
    [40, -2, 10, 38.8, 25.7732, 15.4639, 26.2887],
    [50, 3, 20, 50, 20, 0, 18.8],
  ])('reference: Gullstrand %d and %d dpt at %d mm', (firstPowerDpt, secondPowerDpt, gapMm, power, efl, bfd, ffd) => {
    const pair = lensPair({ firstPowerDpt, secondPowerDpt, gapMm });
    expect(pair.powerDpt).toBeCloseTo(power, 4);
    expect(pair.focalLengthMm).toBeCloseTo(efl, 4);
    expect(pair.backFocalDistanceMm).toBeCloseTo(bfd, 4);
    expect(pair.frontFocalDistanceMm).toBeCloseTo(ffd, 4);
    const matrix = systemMatrix([
      thinLensMatrix({ powerDpt: firstPowerDpt }),
      gapMatrix({ gapMm }),
      thinLensMatrix({ powerDpt: secondPowerDpt }),
    ]);
    expect(-1 / matrix.c).toBeCloseTo(efl, 4);
    expect(-matrix.a / matrix.c).toBeCloseTo(bfd, 4);
  });

  it('degenerate: an afocal pair has no focal length', () => {
    expect(lensPair({ firstPowerDpt: 10, secondPowerDpt: -20, gapMm: 50 })).toMatchObject({
      powerDpt: 0,
      focalLengthMm: null,
      backFocalDistanceMm: null,
    });
  });

  it('reference: OpenStax, eye: 23 mm and 64 mm in touch → 59.1 dpt, 16.92 mm', () => {
    const powerDpt = touchingLensesPowerDpt([1000 / 23, 1000 / 64]);
    expect(powerDpt).toBeCloseTo(59.103, 3);
    expect(1000 / powerDpt).toBeCloseTo(16.9195, 4);
  });

  it('closed form: close-up lens of +3 dpt', () => {
    expect(closeUpDistanceMm({ closeUpPowerDpt: 3, focusedAtMm: null })).toBeCloseTo(333.33, 2);
    expect(closeUpDistanceMm({ closeUpPowerDpt: 3, focusedAtMm: 1000 })).toBeCloseTo(250, 9);
    expect(closeUpDistanceMm({ closeUpPowerDpt: -1, focusedAtMm: 1000 })).toBeNull();
  });

  it('closed form: extension tube of 5 mm on f 25 mm → 0.2', () => {
    expect(extensionTubeMagnification({ focalLengthMm: 25, tubeMm: 5, magnificationWithoutTube: 0 })).toBeCloseTo(
      0.2,
      12,
    );
    expect(extensionTubeMagnification({ focalLengthMm: 25, tubeMm: 5, magnificationWithoutTube: 0.1 })).toBeCloseTo(
      0.3,
      12,
    );
  });

  it('refuses a negative gap and powers that are not finite', () => {
    expect(() => lensPair({ firstPowerDpt: 1, secondPowerDpt: 1, gapMm: -1 })).toThrow(/gapMm is -1 mm; allowed/);
    expect(() => touchingLensesPowerDpt([1, Number.POSITIVE_INFINITY])).toThrow(/powersDpt is Infinity/);
    expect(() => closeUpDistanceMm({ closeUpPowerDpt: 1, focusedAtMm: 0 })).toThrow(/focusedAtMm/);
  });
});
