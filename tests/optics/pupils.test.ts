import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type LayoutModel, traceSystem, workingFNumberFrom } from '../../src/optics/index.js';
import { anyLayout, imageSide, tunablePair } from './layouts.js';

const power = fc.double({ min: -4, max: 6, noNaN: true });

describe('pupils', () => {
  // Computed from N(1 + |m|/P), formula from memory of the standard texts.
  it.each([
    [4, 0.5, 1],
    [4, 1, 1],
    [5.6, 0.25, 0.8],
    [2.8, 0.1, 1],
  ])(
    'closed form: with 0 dpt, N %d at |m| %d and P %d works at N(1 + |m|/P)',
    (fNumber, magnification, pupilMagnification) => {
      const fixedLens = { focalLengthMm: 25, fNumber, pupilMagnification };
      const expected = workingFNumberFrom({ fNumber, magnification, pupilMagnification });
      for (const tunableLensAt of ['object-side', 'image-side'] as const) {
        const model: LayoutModel = {
          ...tunablePair,
          tunableLensAt,
          fixedLens,
          clearApertureMm: 100,
          ringDistanceMm: 25 * (1 + 1 / magnification),
          spacerMm: 0,
        };
        const traced = traceSystem({ model, focalPowerDpt: 0 });
        expect(traced.limitingStop).toBe('fixed-lens');
        expect(traced.magnification).toBeCloseTo(-magnification, 9);
        expect(traced.workingFNumber).toBeCloseTo(expected, 9);
        expect(traced.exitPupil.diameterMm / traced.entrancePupil.diameterMm).toBeCloseTo(pupilMagnification, 9);
        expect(traced.objectNumericalAperture).toBeCloseTo(magnification / (2 * expected), 12);
      }
    },
  );

  it('closed form: pupils of a fixed lens alone lie at f(1 − 1/P) before and f(1 − P) behind', () => {
    const model: LayoutModel = { ...imageSide, clearApertureMm: 100 };
    const traced = traceSystem({ model, focalPowerDpt: 0 });
    const { focalLengthMm: f, pupilMagnification: p, fNumber } = imageSide.fixedLens;
    expect(traced.entrancePupil.positionMm).toBeCloseTo(model.frontOffsetMm - f * (1 - 1 / p), 9);
    expect(traced.entrancePupil.diameterMm).toBeCloseTo(f / fNumber, 9);
    const sensorMm = (f * 400) / (400 - f) + 0.5;
    expect(traced.exitPupil.positionMm).toBeCloseTo(sensorMm - f * (1 - p), 9);
  });

  it('reference: focal length of the pair at 3 dpt is 15.717092 mm (computed)', () => {
    expect(traceSystem({ model: tunablePair, focalPowerDpt: 3 }).effectiveFocalLengthMm).toBeCloseTo(15.717092, 6);
  });

  it('property: while the fixed lens limits, the working f-number of an object-side layout does not know the power', () => {
    const at = (focalPowerDpt: number) => traceSystem({ model: tunablePair, focalPowerDpt });
    expect(at(4).limitingStop).toBe('fixed-lens');
    expect(at(4).workingFNumber).toBeCloseTo(at(0).workingFNumber, 12);
    expect(at(4).workingFNumber).toBeCloseTo(2.8 * (16.5 / 16), 9);
  });

  it('property: exit pupil distance / diameter is the working f-number, and the same holds for the object-side cone', () => {
    fc.assert(
      fc.property(anyLayout, power, (model, focalPowerDpt) => {
        const traced = traceSystem({ model, focalPowerDpt });
        const { exitPupil, entrancePupil, focus, workingFNumber } = traced;
        expect(Math.abs(exitPupil.positionMm) / exitPupil.diameterMm / workingFNumber).toBeCloseTo(1, 9);
        if (focus.kind !== 'real') return;
        const slope = entrancePupil.diameterMm / 2 / Math.abs(focus.workingDistanceMm + entrancePupil.positionMm);
        expect(slope / traced.objectNumericalAperture).toBeCloseTo(1, 6);
      }),
    );
  });

  it('property: on-axis beam never exceeds the clear aperture, and equals it where the tunable lens limits', () => {
    let limited = 0;
    fc.assert(
      fc.property(anyLayout, power, (model, focalPowerDpt) => {
        const traced = traceSystem({ model, focalPowerDpt });
        expect(traced.tunableBeamDiameterMm).toBeLessThanOrEqual(model.clearApertureMm * (1 + 1e-9));
        if (traced.limitingStop === 'fixed-lens') return;
        limited += 1;
        expect(traced.tunableBeamDiameterMm).toBeCloseTo(model.clearApertureMm, 9);
      }),
    );
    expect(limited).toBeGreaterThan(5);
  });

  it('property: whole-system N(1 + |m|/P) equals the traced cone, in every layout', () => {
    fc.assert(
      fc.property(anyLayout, power, (model, focalPowerDpt) => {
        const { entrancePupil, exitPupil, effectiveFocalLengthMm, ...traced } = traceSystem({ model, focalPowerDpt });
        if (traced.focus.kind !== 'real' || traced.magnification >= 0) return;
        fc.pre(entrancePupil.diameterMm < 1e4 && exitPupil.diameterMm < 1e4 && exitPupil.positionMm > 0);
        const fromFormula = workingFNumberFrom({
          fNumber: effectiveFocalLengthMm! / entrancePupil.diameterMm,
          magnification: -traced.magnification,
          pupilMagnification: exitPupil.diameterMm / entrancePupil.diameterMm,
        });
        expect(fromFormula / traced.workingFNumber).toBeCloseTo(1, 6);
      }),
    );
  });

  it('degenerate: an object-space telecentric pupil is very far away, and nothing is NaN', () => {
    // The tunable lens has its rear focus at the fixed lens's pupil, 10 mm behind.
    const traced = traceSystem({ model: tunablePair, focalPowerDpt: 100 });
    expect(Math.abs(traced.entrancePupil.positionMm)).toBeGreaterThan(1e6);
    for (const value of [traced.entrancePupil.diameterMm, traced.workingFNumber, traced.objectNumericalAperture]) {
      expect(Number.isFinite(value)).toBe(true);
    }
  });

  it('degenerate: a system without power has no focal length', () => {
    const model = { ...tunablePair, gapMm: 16 };
    expect(traceSystem({ model, focalPowerDpt: 1e9 }).effectiveFocalLengthMm).not.toBeNull();
    const afocal = {
      ...tunablePair,
      fixedLens: { ...tunablePair.fixedLens, focalLengthMm: 20 },
      gapMm: 0,
      spacerMm: 4,
    };
    expect(traceSystem({ model: afocal, focalPowerDpt: -50 }).effectiveFocalLengthMm).toBeNull();
  });

  it('degenerate: beyond infinity the object-side aperture still follows the magnification', () => {
    const traced = traceSystem({ model: tunablePair, focalPowerDpt: -2 });
    expect(traced.focus.kind).toBe('beyond-infinity');
    expect(traced.objectNumericalAperture).toBeCloseTo(0.001125 / (2 * traced.workingFNumber), 12);
  });

  it('refuses NaN power', () => {
    expect(() => traceSystem({ model: tunablePair, focalPowerDpt: Number.NaN })).toThrow(/NaN dpt/);
  });
});
