import { describe, expect, it } from 'vitest';
import { layoutModelOf } from '../../src/station/index.js';
import { noBuildErrors } from '../../src/twin/index.js';
import { opticalStateAt, trueLayout } from '../../src/twin/true-optics.js';
import { smallStation } from './small-station.js';

/** Tunable thin lens 10 mm before a thin f 16 mm lens with the stop in it, sensor 16.5 mm behind. */
const pair = {
  fixedLens: { focalLengthMm: 16, fNumber: 4, pupilMagnification: 1 },
  tunableLensAt: 'object-side' as const,
  clearApertureMm: 30,
  gapMm: 10,
  ringDistanceMm: null,
  spacerMm: 0.5,
  frontOffsetMm: 0,
};

/** Chief and marginal ray through the pair by hand: heights and slopes, lens after lens. */
function byHand(powerDpt: number, objectMm: number) {
  // Chief ray from height 1 through the middle of the stop, 10 mm behind the tunable lens.
  const p = powerDpt / 1000;
  const slope = -(1 - 10 * p) / (objectMm * (1 - 10 * p) + 10);
  const atTunable = 1 + objectMm * slope;
  const atStop = slope - p * atTunable;
  // Vergences from the axial point to the stop, against those that the sensor needs.
  const leaving = powerDpt - 1000 / objectMm;
  const arriving = leaving / (1 - 0.01 * leaving);
  const needed = 1000 / 16.5 - 1000 / 16;
  return {
    magnification: Math.abs(16.5 * atStop),
    waves: (0.5 * (needed - arriving) * (2 / 1000) ** 2) / 550e-9,
  };
}

describe('true optics', () => {
  it.each([
    [1, 341.238471673],
    [1, 300],
    [0, 300],
    [3, 300],
    [-2, 250],
  ])(
    'closed form: at %d dpt and %d mm scale and defocus are those of rays traced by hand',
    (focalPowerDpt, workingDistanceMm) => {
      const state = opticalStateAt({ model: pair, focalPowerDpt, workingDistanceMm, wavelengthNm: 550 });
      const expected = byHand(focalPowerDpt, workingDistanceMm);
      expect(state.magnification).toBeCloseTo(expected.magnification, 10);
      expect(state.defocusWaves).toBeCloseTo(expected.waves, 6);
      expect(state.workingFNumber).toBeCloseTo(16.5 / 4, 10);
    },
  );

  it('reference: in focus at 1 dpt the scale is that of references/tables/tunable-pair.json', () => {
    const state = opticalStateAt({
      model: pair,
      focalPowerDpt: 1,
      workingDistanceMm: 341.238471673,
      wavelengthNm: 550,
    });
    expect(state.magnification).toBeCloseTo(0.0474375, 9);
    expect(state.defocusWaves).toBeCloseTo(0, 6);
  });

  it('degenerate: without build errors the true layout is the nominal one', () => {
    expect(trueLayout(smallStation, noBuildErrors())).toEqual(layoutModelOf(smallStation));
  });

  it('refuses a target behind the entrance pupil', () => {
    expect(() => opticalStateAt({ model: pair, focalPowerDpt: 0, workingDistanceMm: -40, wavelengthNm: 550 })).toThrow(
      expect.objectContaining({ code: 'target-not-placeable' }),
    );
  });
});
