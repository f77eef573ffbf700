import { describe, expect, it } from 'vitest';
import { thinLensDistancesAt, thinLensFocalLengthMm, thinLensImage } from '../../src/optics/index.js';

describe('thin lens', () => {
  // Published and recomputed: OpenStax, University Physics vol. 3, modules m58530, m58531, m58534; numbers only, in mm.
  it.each([
    ['example (a)', 100, 500, 125, -0.25, 3],
    ['example (b), virtual', 100, 50, -100, 2, 3],
    ['example (c)', 100, 200, 200, -1, 3],
    ['slide', 100, 103, 3433.33, -33.333, 2],
    ['camera', 50, 3000, 50.8475, -0.0169492, 4],
    ['magnifier, near', 100, 85, -566.67, 6.667, 2],
    ['magnifier, far', 100, 95, -1900, 20, 2],
    ['virtual', 200, 50, -66.667, 1.3333, 3],
    ['microscope', 6, 6.2, 186, -30, 3],
    ['objective', 1.5, 1.55, 46.5, -30, 3],
    ['near point of the eye', 17, 250, 18.24, -0.073, 2],
    ['diverging, first of two', -200, 250, -111.11, 0.4444, 2],
  ])('reference: OpenStax, %s', (_, focalLengthMm, objectDistanceMm, imageDistanceMm, magnification, digits) => {
    const image = thinLensImage({ focalLengthMm, objectDistanceMm });
    expect(image.imageDistanceMm).toBeCloseTo(imageDistanceMm, digits - 1);
    expect(image.magnification).toBeCloseTo(magnification, 3);
  });

  it('reference: OpenStax, two-lens chain: −60 and 6.667 (eyepiece, virtual image)', () => {
    const first = thinLensImage({ focalLengthMm: 3, objectDistanceMm: 3.05 });
    expect(first.imageDistanceMm).toBeCloseTo(183, 6);
    expect(first.magnification).toBeCloseTo(-60, 6);
    const second = thinLensImage({ focalLengthMm: 20, objectDistanceMm: 200 - first.imageDistanceMm! });
    expect(second.imageDistanceMm).toBeCloseTo(-113.333, 3);
    // The book's 13.5 is the angular magnification 1 + 250/20 of a magnifier.
    expect(second.magnification).toBeCloseTo(6.6667, 4);
  });

  it('reference: OpenStax, bulb: 0.75 m and 1.50 m give f 0.50 m', () => {
    expect(thinLensFocalLengthMm({ objectDistanceMm: 750, imageDistanceMm: 1500 })).toBeCloseTo(500, 9);
  });

  it('closed form: |m| 0.2 on f 25 mm → 150 mm and 30 mm', () => {
    const distances = thinLensDistancesAt({ focalLengthMm: 25, magnification: 0.2 });
    expect(distances.objectDistanceMm).toBeCloseTo(150, 9);
    expect(distances.imageDistanceMm).toBeCloseTo(30, 9);
  });

  it('degenerate: an object in the focal plane has its image at infinity', () => {
    expect(thinLensImage({ focalLengthMm: 50, objectDistanceMm: 50 })).toEqual({
      imageDistanceMm: null,
      magnification: null,
    });
  });

  it('refuses what is no lens or no distance', () => {
    expect(() => thinLensImage({ focalLengthMm: 0, objectDistanceMm: 50 })).toThrow(/focalLengthMm is 0 mm/);
    expect(() => thinLensImage({ focalLengthMm: 50, objectDistanceMm: Number.NaN })).toThrow(/objectDistanceMm is NaN/);
    expect(() => thinLensDistancesAt({ focalLengthMm: 50, magnification: 0 })).toThrow(/magnification is 0/);
    expect(() => thinLensFocalLengthMm({ objectDistanceMm: 5, imageDistanceMm: -5 })).toThrow(/imageDistanceMm/);
  });
});
