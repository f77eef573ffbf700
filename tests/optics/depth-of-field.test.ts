import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  blurDiscDepthOfField,
  focalPowerAt,
  type LayoutModel,
  layoutDefocusWaves,
  quarterWaveDepthOfField,
  thinLensDepthOfField,
  traceSystem,
  workingDistanceAt,
} from '../../src/optics/index.js';
import { anyLayout, threeLayouts, tunablePair } from './layouts.js';

/** A thin fixed lens with a tunable lens of 0 dpt in touch. */
const thinLens = (focalLengthMm: number, fNumber: number, ringDistanceMm: number): LayoutModel => ({
  ...tunablePair,
  fixedLens: { focalLengthMm, fNumber, pupilMagnification: 1 },
  clearApertureMm: 100,
  gapMm: 0,
  spacerMm: 0,
  ringDistanceMm,
});

describe('depth of field by blur disc', () => {
  // Computed from the exact thin-lens formulas.
  it.each([
    [50, 8, 30, 3000, 2337.9052, 4185.2679],
    [25, 4, 3.45, 300, 298.1894, 301.8327],
    [16, 2.8, 6.9, 500, 482.3802, 518.9558],
    [35, 5.6, 5, 400, 396.6905, 403.3652],
  ])('reference: f %d mm, N %d, c %d µm at %d mm', (focalLengthMm, fNumber, blurDiameterUm, distanceMm, near, far) => {
    const model = thinLens(focalLengthMm, fNumber, distanceMm);
    const depth = blurDiscDepthOfField({ model, focalPowerDpt: 0, blurDiameterUm });
    expect(depth.nearMm).toBeCloseTo(near, 4);
    expect(depth.farMm).toBeCloseTo(far, 4);
    expect(depth.totalMm).toBeCloseTo(far - near, 3);
    const byFormula = thinLensDepthOfField({ focalLengthMm, fNumber, blurDiameterUm, objectDistanceMm: distanceMm });
    expect(depth.nearMm).toBeCloseTo(byFormula.nearMm, 6);
  });

  it('closed form: half-widths in dpt are the changes of 1/s for a tunable lens in touch', () => {
    const depth = blurDiscDepthOfField({ model: thinLens(25, 4, 300), focalPowerDpt: 0, blurDiameterUm: 3.45 });
    expect(depth.nearHalfWidthDpt).toBeCloseTo(1000 / depth.nearMm - 1000 / 300, 9);
    expect(depth.farHalfWidthDpt).toBeCloseTo(1000 / 300 - 1000 / depth.farMm!, 9);
    expect(depth.nearHalfWidthDpt).toBeCloseTo(depth.farHalfWidthDpt, 9);
  });

  it('degenerate: focused at the hyperfocal distance the field reaches infinity', () => {
    const depth = blurDiscDepthOfField({ model: thinLens(50, 8, 10467), focalPowerDpt: 0, blurDiameterUm: 30 });
    expect(depth.farMm).toBeNull();
    expect(depth.totalMm).toBeNull();
    expect(depth.nearMm).toBeCloseTo(10467 / 2, -2);
    expect(depth.farHalfWidthDpt).toBeGreaterThan(0);
  });

  it('property: the limits are sharp at the powers that the half-widths name', () => {
    let cases = 0;
    fc.assert(
      fc.property(anyLayout, fc.double({ min: 120, max: 800, noNaN: true }), (model, workingDistanceMm) => {
        const power = focalPowerAt({ model, workingDistanceMm });
        if (power.kind === 'none') return;
        const depth = blurDiscDepthOfField({ model, focalPowerDpt: power.focalPowerDpt, blurDiameterUm: 5 });
        expect(depth.nearMm).toBeLessThan(workingDistanceMm);
        if (depth.farMm === null) return;
        cases += 1;
        expect(depth.farMm).toBeGreaterThan(workingDistanceMm);
        for (const [limitMm, half] of [
          [depth.nearMm, depth.nearHalfWidthDpt],
          [depth.farMm, depth.farHalfWidthDpt],
        ] as const) {
          const reached = [1, -1].some((sign) => {
            const focus = workingDistanceAt({ model, focalPowerDpt: power.focalPowerDpt + sign * half });
            return focus.kind === 'real' && Math.abs(focus.workingDistanceMm / limitMm - 1) < 1e-6;
          });
          expect(reached).toBe(true);
        }
      }),
    );
    expect(cases).toBeGreaterThan(50);
  });

  it('refuses a power without a sharp object, a blur of nothing and one that reaches the front', () => {
    expect(() => blurDiscDepthOfField({ model: tunablePair, focalPowerDpt: -2, blurDiameterUm: 5 })).toThrow(
      /focalPowerDpt is -2 dpt, which focuses beyond-infinity; allowed/,
    );
    expect(() => blurDiscDepthOfField({ model: tunablePair, focalPowerDpt: 2, blurDiameterUm: 0 })).toThrow(
      /blurDiameterUm/,
    );
    expect(() => blurDiscDepthOfField({ model: tunablePair, focalPowerDpt: 2, blurDiameterUm: 20000 })).toThrow(
      /behind the front/,
    );
  });
});

describe('depth of field by quarter wave', () => {
  it.each(threeLayouts)('closed form: %s, a quarter wave at both limits', (_, model) => {
    const focalPowerDpt = 2;
    const { nearMm, farMm } = quarterWaveDepthOfField({ model, focalPowerDpt, wavelengthNm: 550 });
    const at = (workingDistanceMm: number) =>
      layoutDefocusWaves({ model, focalPowerDpt, workingDistanceMm, wavelengthNm: 550 });
    expect(at(nearMm)).toBeCloseTo(0.25, 7);
    expect(at(farMm!)).toBeCloseTo(-0.25, 7);
  });

  it('closed form: a pupil of 10 mm at the tunable lens, 550 nm → 0.0110 dpt', () => {
    const model: LayoutModel = { ...thinLens(50, 5, 600) };
    const depth = quarterWaveDepthOfField({ model, focalPowerDpt: 0, wavelengthNm: 550 });
    expect(depth.nearHalfWidthDpt).toBeCloseTo(0.011, 6);
    expect(depth.farHalfWidthDpt).toBeCloseTo(0.011, 6);
  });

  it('closed form: total depth close to λ/NA² for a small field', () => {
    const model = thinLens(50, 5, 300);
    const depth = quarterWaveDepthOfField({ model, focalPowerDpt: 0, wavelengthNm: 550 });
    const { objectNumericalAperture } = traceSystem({ model, focalPowerDpt: 0 });
    expect(depth.totalMm! / (550e-6 / objectNumericalAperture ** 2)).toBeCloseTo(1, 3);
  });

  it('refuses a wavelength of 0', () => {
    expect(() => quarterWaveDepthOfField({ model: tunablePair, focalPowerDpt: 2, wavelengthNm: 0 })).toThrow(
      /wavelengthNm/,
    );
  });
});
