import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { focalPowerAt, type LayoutModel, sensorDistanceMm, workingDistanceAt } from '../../src/optics/index.js';
import { anyLayout, atStop, threeLayouts, tunablePair } from './layouts.js';

const power = fc.double({ min: -5, max: 8, noNaN: true });

describe('power and distance', () => {
  // Computed: matrix and vergence agree to the digits shown.
  it.each([
    [0, 518, -0.03125],
    [1, 341.2385, -0.0474375],
    [2, 254.4204, -0.063625],
    [3, 202.8191, -0.0798125],
    [4, 168.6198, -0.096],
  ])('reference: tunable lens at %d dpt 10 mm before f 16 mm', (focalPowerDpt, distanceMm, magnification) => {
    const focus = workingDistanceAt({ model: tunablePair, focalPowerDpt });
    if (focus.kind !== 'real') throw new Error(focus.kind);
    expect(focus.workingDistanceMm).toBeCloseTo(distanceMm, 4);
    expect(focus.magnification).toBeCloseTo(magnification, 9);
  });

  it('reference: −2 dpt focuses no real object; the light would have to converge to 14388.889 mm behind', () => {
    const focus = workingDistanceAt({ model: tunablePair, focalPowerDpt: -2 });
    if (focus.kind !== 'beyond-infinity') throw new Error(focus.kind);
    expect(1000 / focus.arrivingVergenceDpt).toBeCloseTo(14388.889, 3);
    expect(focus.magnification).toBeCloseTo(0.001125, 9);
  });

  it.each(threeLayouts)('closed form: %s at 0 dpt focuses the ring distance', (_, layout) => {
    const model = { ...layout, spacerMm: 0, ringDistanceMm: 600 };
    const focus = workingDistanceAt({ model, focalPowerDpt: 0 });
    if (focus.kind !== 'real') throw new Error(focus.kind);
    const inFrontMm = model.tunableLensAt === 'object-side' ? model.gapMm : 0;
    expect(focus.workingDistanceMm).toBeCloseTo(600 - inFrontMm - model.frontOffsetMm, 6);
    const f = model.fixedLens.focalLengthMm;
    expect(focus.magnification).toBeCloseTo(-f / (600 - f), 9);
  });

  it('closed form: object-side by vergences, 1/s = P + 1/(s_r − t)', () => {
    const model: LayoutModel = { ...tunablePair, spacerMm: 0, ringDistanceMm: 700, frontOffsetMm: 6 };
    const focus = workingDistanceAt({ model, focalPowerDpt: 2.5 });
    if (focus.kind !== 'real') throw new Error(focus.kind);
    expect(focus.workingDistanceMm).toBeCloseTo(1000 / (2.5 + 1000 / 690) - 6, 9);
  });

  it('closed form: image-side by vergences', () => {
    const model: LayoutModel = { ...tunablePair, tunableLensAt: 'image-side', gapMm: 8, spacerMm: 2 };
    const sensorMm = sensorDistanceMm(model);
    const beforeTunableDpt = 1000 / (sensorMm - 8) - 5;
    const imageOfFixedMm = 8 + 1000 / beforeTunableDpt;
    const objectMm = 1 / (1 / 16 - 1 / imageOfFixedMm);
    const focus = workingDistanceAt({ model, focalPowerDpt: 5 });
    if (focus.kind !== 'real') throw new Error(focus.kind);
    expect(focus.workingDistanceMm).toBeCloseTo(objectMm, 9);
  });

  it('property: power → distance → power comes back in all three layouts', () => {
    let realOnes = 0;
    fc.assert(
      fc.property(anyLayout, power, (model, focalPowerDpt) => {
        const focus = workingDistanceAt({ model, focalPowerDpt });
        if (focus.kind === 'beyond-infinity') return;
        realOnes += 1;
        const back = focalPowerAt({ model, workingDistanceMm: focus.workingDistanceMm });
        if (back.kind !== 'power') throw new Error(back.reason);
        expect(Math.abs(back.focalPowerDpt - focalPowerDpt)).toBeLessThan(1e-7);
      }),
      { numRuns: 500 },
    );
    expect(realOnes).toBeGreaterThan(100);
  });

  it('property: distance → power → distance comes back in all three layouts', () => {
    fc.assert(
      fc.property(anyLayout, fc.double({ min: 50, max: 2000, noNaN: true }), (model, workingDistanceMm) => {
        const found = focalPowerAt({ model, workingDistanceMm });
        if (found.kind !== 'power') throw new Error(found.reason);
        const focus = workingDistanceAt({ model, focalPowerDpt: found.focalPowerDpt });
        if (focus.kind !== 'real') throw new Error(focus.kind);
        expect(Math.abs(focus.workingDistanceMm / workingDistanceMm - 1)).toBeLessThan(1e-7);
      }),
      { numRuns: 300 },
    );
  });

  it('property: magnification is linear in power at a fixed sensor', () => {
    fc.assert(
      fc.property(anyLayout, (model) => {
        const at = (focalPowerDpt: number) => workingDistanceAt({ model, focalPowerDpt }).magnification;
        expect(at(3) - at(2)).toBeCloseTo(at(2) - at(1), 9);
      }),
    );
    const slope =
      workingDistanceAt({ model: tunablePair, focalPowerDpt: 2 }).magnification -
      workingDistanceAt({ model: tunablePair, focalPowerDpt: 1 }).magnification;
    expect(slope).toBeCloseTo(-0.0161875, 12);
  });

  it.each(threeLayouts)('property: %s focuses nearer with more power', (_, model) => {
    const at = (focalPowerDpt: number) => {
      const focus = workingDistanceAt({ model, focalPowerDpt });
      return focus.kind === 'real' ? focus.workingDistanceMm : Number.NaN;
    };
    expect(at(2)).toBeLessThan(at(1));
    expect(at(3)).toBeLessThan(at(2));
  });

  it('degenerate: a ring at infinity and 0 dpt focus infinity, and infinity asks for 0 dpt', () => {
    const model = { ...tunablePair, spacerMm: 0 };
    expect(workingDistanceAt({ model, focalPowerDpt: 0 })).toEqual({
      kind: 'beyond-infinity',
      arrivingVergenceDpt: 0,
      magnification: 0,
    });
    expect(focalPowerAt({ model, workingDistanceMm: null })).toEqual({ kind: 'power', focalPowerDpt: 0 });
    expect(focalPowerAt({ model: atStop, workingDistanceMm: null }).kind).toBe('power');
  });

  it('degenerate: a sharp plane inside the housing is said to lie behind the front', () => {
    const focus = workingDistanceAt({ model: { ...tunablePair, frontOffsetMm: 300 }, focalPowerDpt: 3 });
    expect(focus.kind).toBe('behind-front');
    expect(focus.kind === 'behind-front' && focus.workingDistanceMm).toBeCloseTo(202.8191 - 300, 4);
  });

  it('degenerate: an object at the tunable lens cannot be focused by its power', () => {
    const none = focalPowerAt({ model: tunablePair, workingDistanceMm: 0 });
    expect(none.kind).toBe('none');
    expect(none.kind === 'none' && none.reason).toMatch(/image of the object/);
  });

  it('refuses NaN', () => {
    expect(() => workingDistanceAt({ model: tunablePair, focalPowerDpt: Number.NaN })).toThrow(/NaN dpt/);
    expect(() => focalPowerAt({ model: tunablePair, workingDistanceMm: Number.NaN })).toThrow(
      /workingDistanceMm is NaN/,
    );
  });
});
