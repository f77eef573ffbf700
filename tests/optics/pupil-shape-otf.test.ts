import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { circleOverlapArea, defocusOtf, type PupilDisc, pupilShapeOtf } from '../../src/optics/index.js';

const full: readonly [PupilDisc] = [{ centreX: 0, centreY: 0, radius: 1 }];
const between = (min: number, max: number) => fc.double({ min, max, noNaN: true });

describe('transfer function of a pupil’s shape', () => {
  it('degenerate: one circle without coma equals defocusOtf to 2e-5', () => {
    fc.assert(
      fc.property(between(0, 1.2), between(-6, 6), (normalisedFrequency, defocusWaves) => {
        const { real, imaginary } = pupilShapeOtf({ normalisedFrequency, discs: full, defocusWaves });
        expect(Math.abs(real - defocusOtf({ normalisedFrequency, defocusWaves }))).toBeLessThan(2e-5);
        expect(Math.abs(imaginary)).toBeLessThan(1e-10);
      }),
    );
  });

  it('closed form: in focus the overlap of two sheared circles of any size and place', () => {
    for (const [s, radius, centreX] of [
      [0.3, 1.4, 0],
      [0.5, 0.8, 2.1],
      [0.9, 2, -1],
    ] as const) {
      const { real } = pupilShapeOtf({
        normalisedFrequency: s,
        discs: [{ centreX, centreY: 0.4, radius }],
        defocusWaves: 0,
      });
      expect(real).toBeCloseTo(circleOverlapArea(radius, radius, 2 * s) / (Math.PI * radius ** 2), 5);
    }
  });

  it('degenerate: a second circle around the first cuts nothing, coma or not', () => {
    const around: PupilDisc = { centreX: 0.3, centreY: -0.2, radius: 1.5 };
    for (const comaWaves of [0, 0.6]) {
      const at = { normalisedFrequency: 0.35, defocusWaves: 0.4, comaWaves, comaAzimuthRad: 0.7 };
      const one = pupilShapeOtf({ ...at, discs: full });
      const two = pupilShapeOtf({ ...at, discs: [full[0], around] });
      expect(two.real).toBeCloseTo(one.real, 6);
      expect(two.imaginary).toBeCloseTo(one.imaginary, 6);
    }
  });

  it('property: aberration never raises the contrast; turning coma by half a turn conjugates', () => {
    fc.assert(
      fc.property(
        between(0.02, 0.98),
        between(-2, 2),
        between(-1.5, 1.5),
        between(0, 7),
        between(-1.5, 1.5),
        between(0.5, 2),
        (normalisedFrequency, defocusWaves, comaWaves, comaAzimuthRad, centreX, radius) => {
          const discs = [full[0], { centreX, centreY: 0, radius }] as const;
          const at = { normalisedFrequency, discs };
          const clear = pupilShapeOtf({ ...at, defocusWaves: 0 });
          const { real, imaginary } = pupilShapeOtf({ ...at, defocusWaves, comaWaves, comaAzimuthRad });
          expect(Math.hypot(real, imaginary)).toBeLessThan(clear.real + 3e-5);
          const single = pupilShapeOtf({ ...at, discs: full, defocusWaves, comaWaves, comaAzimuthRad });
          const turned = pupilShapeOtf({ ...at, discs: full, defocusWaves, comaWaves: -comaWaves, comaAzimuthRad });
          expect(turned.real).toBeCloseTo(single.real, 6);
          expect(turned.imaginary).toBeCloseTo(-single.imaginary, 6);
        },
      ),
      { numRuns: 60 },
    );
  });

  it.each([
    [{ discs: [full[0], { centreX: 3, centreY: 0, radius: 1 }] as const }, /discs have no area in common/],
    [{ discs: [{ centreX: 0, centreY: 0, radius: 0 }] as const }, /discs\.radius is 0/],
    [{ defocusWaves: Number.NaN }, /defocusWaves is NaN waves/],
    [{ normalisedFrequency: -0.1 }, /normalisedFrequency is -0\.1/],
    [{ comaWaves: 1e4 }, /rad of phase; allowed/],
  ])('refuses: %o', (change, message) => {
    expect(() => pupilShapeOtf({ normalisedFrequency: 0.2, discs: full, defocusWaves: 0, ...change })).toThrow(message);
  });
});
