import { describe, expect, it } from 'vitest';
import {
  closeUpDepthOfFieldMm,
  hyperfocalDistanceMm,
  thinLensDepthOfField,
  thinLensImage,
  waveDepthOfFieldUm,
  workingFNumberFrom,
} from '../../src/optics/index.js';

describe('thin-lens depth of field', () => {
  // Computed from the exact forms (from memory of the standard texts, derived again).
  it.each([
    [50, 8, 30, 3000, 10466.667, 2337.9052, 4185.2679, 1847.3626, 1699.2, 1],
    [25, 4, 3.45, 300, 45314.855, 298.1894, 301.8327, 3.6433, 3.6432, 4],
    [16, 2.8, 6.9, 500, 13266.518, 482.3802, 518.9558, 36.5757, 36.5269, 4],
    [35, 5.6, 5, 400, 43785, 396.6905, 403.3652, 6.6748, 6.6743, 4],
  ])(
    'reference: f %d mm, N %d, c %d µm at %d mm',
    (focalLengthMm, fNumber, blurDiameterUm, s, h, near, far, total, closeUp, digits) => {
      const lens = { focalLengthMm, fNumber, blurDiameterUm };
      expect(hyperfocalDistanceMm(lens)).toBeCloseTo(h, 3);
      const depth = thinLensDepthOfField({ ...lens, objectDistanceMm: s });
      expect(depth.nearMm).toBeCloseTo(near, 4);
      expect(depth.farMm).toBeCloseTo(far, 4);
      expect(depth.totalMm).toBeCloseTo(total, 3);
      const magnification = -thinLensImage({ focalLengthMm, objectDistanceMm: s }).magnification!;
      expect(closeUpDepthOfFieldMm({ fNumber, blurDiameterUm, magnification, pupilMagnification: 1 })).toBeCloseTo(
        closeUp,
        digits,
      );
    },
  );

  // Published: Keiser, Biophotonics, example 8.4.
  it.each([
    [0.2, 29.4],
    [0.55, 3.89],
  ])('reference: Keiser, 780 nm in n 1.51 at NA %d → %d µm', (numericalAperture, depthUm) => {
    const found = waveDepthOfFieldUm({ wavelengthNm: 780, numericalAperture, refractiveIndex: 1.51 });
    expect(Number(found.toPrecision(3))).toBe(depthUm);
  });

  it.each([
    [4, 0.5, 1, 6],
    [4, 1, 1, 8],
    [5.6, 0.25, 0.8, 7.35],
    [2.8, 0.1, 1, 3.08],
  ])('closed form: working f-number of N %d, |m| %d, P %d', (fNumber, magnification, pupilMagnification, expected) => {
    expect(workingFNumberFrom({ fNumber, magnification, pupilMagnification })).toBeCloseTo(expected, 12);
  });

  it('degenerate: from the hyperfocal distance on, the far limit is infinity', () => {
    const depth = thinLensDepthOfField({ focalLengthMm: 50, fNumber: 8, blurDiameterUm: 30, objectDistanceMm: 10467 });
    expect(depth.farMm).toBeNull();
    expect(depth.totalMm).toBeNull();
  });

  it('refuses objects inside the focal length and apertures beyond the medium', () => {
    const lens = { focalLengthMm: 50, fNumber: 8, blurDiameterUm: 30 };
    expect(() => thinLensDepthOfField({ ...lens, objectDistanceMm: 50 })).toThrow(/objectDistanceMm is 50 mm/);
    expect(() => hyperfocalDistanceMm({ ...lens, blurDiameterUm: 0 })).toThrow(/blurDiameterUm/);
    expect(() => waveDepthOfFieldUm({ wavelengthNm: 550, numericalAperture: 1.2, refractiveIndex: 1 })).toThrow(
      /numericalAperture/,
    );
  });
});
