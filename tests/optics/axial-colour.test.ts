import { describe, expect, it } from 'vitest';
import {
  firstPlaneDistanceMm,
  gapMatrix,
  layoutMatrices,
  layoutSpectrum,
  multiplyMatrices,
  relativePower,
  sensorDistanceMm,
  systemMtf,
  traceSystem,
  workingDistanceAt,
} from '../../src/optics/index.js';
import { threeLayouts, tunablePair } from './layouts.js';

const light = { wavelengthNm: 525, bandwidthNm: 120 };

describe('axial colour', () => {
  it('closed form: from C to F the power changes by 1/V of that at d', () => {
    const at = (wavelengthNm: number) => relativePower({ abbeNumber: 32, wavelengthNm, referenceNm: 587.562 });
    expect(at(486.133) - at(656.273)).toBeCloseTo(1 / 32, 12);
    expect(at(587.562)).toBe(1);
    expect(relativePower({ abbeNumber: 32, wavelengthNm: 525, referenceNm: 525 })).toBe(1);
  });

  it.each(threeLayouts)('reference: focus of each wavelength by its own matrix, %s', (_, model) => {
    const focalPowerDpt = 1.5;
    const focus = workingDistanceAt({ model, focalPowerDpt });
    if (focus.kind !== 'real') throw new Error(focus.kind);
    const objectMm = firstPlaneDistanceMm(model, focus.workingDistanceMm);
    for (const line of layoutSpectrum({ model, focalPowerDpt, ...light, abbeNumber: 40, axialColourUm: 0 })) {
      const ratio = relativePower({ abbeNumber: 40, wavelengthNm: line.wavelengthNm, referenceNm: 525 });
      const { total } = layoutMatrices({ model, focalPowerDpt: focalPowerDpt * ratio });
      const { b, d } = multiplyMatrices(total, gapMatrix({ gapMm: objectMm }));
      // The image of the object lies where b vanishes, so −b/d behind the sensor.
      expect(Math.abs(line.focusShiftMm + b / d)).toBeLessThan(0.02 * Math.abs(b / d) + 1e-12);
    }
  });

  it('closed form: the fixed lens’s own colour grows with (v/f)² of its image distance', () => {
    const model = { ...tunablePair, ringDistanceMm: 160, spacerMm: 0 };
    const v = 1 / (1 / 16 - 1 / 160);
    expect(sensorDistanceMm(model)).toBeCloseTo(v, 12);
    const lines = layoutSpectrum({ model, focalPowerDpt: 0, ...light, abbeNumber: 20, axialColourUm: 30 });
    const [first, last] = [lines[0]!, lines.at(-1)!];
    const unit = (nm: number) => nm ** -2 / (486.133 ** -2 - 656.273 ** -2);
    const expectedMm = 0.03 * (v / 16) ** 2 * (unit(first.wavelengthNm) - unit(last.wavelengthNm));
    expect(last.focusShiftMm - first.focusShiftMm).toBeCloseTo(expectedMm, 12);
    expect(last.focusShiftMm).toBeGreaterThan(0);
  });

  it('degenerate: narrow light, or lenses without colour, leave the MTF of the centre wavelength', () => {
    const at = { model: tunablePair, focalPowerDpt: 3, axialColourUm: 0, abbeNumber: null };
    expect(layoutSpectrum({ ...at, ...light, bandwidthNm: 0 })).toEqual([
      { wavelengthNm: 525, weight: 1, focusShiftMm: -0 },
    ]);
    const { workingFNumber } = traceSystem(at);
    const point = { spatialFrequencyPerMm: 60, workingFNumber, defocusWaves: 0, wavelengthNm: 525 };
    const colourless = layoutSpectrum({ ...at, ...light });
    expect(systemMtf({ ...point, spectrum: colourless })).toBeCloseTo(systemMtf(point), 2);
  });

  it('property: colour never raises the contrast; more lines where the focuses lie far apart; both keys count', () => {
    const at = { model: tunablePair, focalPowerDpt: 4, ...light };
    const { workingFNumber } = traceSystem(at);
    const point = { spatialFrequencyPerMm: 80, workingFNumber, defocusWaves: 0, wavelengthNm: 525 };
    const mtf = (abbeNumber: number | null, axialColourUm: number) =>
      systemMtf({ ...point, spectrum: layoutSpectrum({ ...at, abbeNumber, axialColourUm }) });
    expect(mtf(30, 0)).toBeLessThan(mtf(90, 0));
    expect(mtf(90, 0)).toBeLessThan(mtf(null, 0));
    expect(mtf(null, 40)).toBeLessThan(mtf(null, 10));
    expect(mtf(null, 10)).toBeLessThan(mtf(null, 0));
    const count = (axialColourUm: number) => layoutSpectrum({ ...at, abbeNumber: null, axialColourUm }).length;
    expect(count(5)).toBe(5);
    expect(count(100)).toBeGreaterThan(9);
  });

  it('property: the lines taken are enough: twenty-one give the same MTF within 3e-3', () => {
    const at = { model: tunablePair, focalPowerDpt: 4, ...light, abbeNumber: 30 };
    const { workingFNumber } = traceSystem(at);
    for (const axialColourUm of [0, 20, 60]) {
      const taken = layoutSpectrum({ ...at, axialColourUm });
      const fine = layoutSpectrum({ ...at, axialColourUm: axialColourUm * 1e-9 + 3000 }).map((line) => {
        const near = taken[0]!;
        const unit = (nm: number) => nm ** -2 - 525 ** -2;
        return { ...line, focusShiftMm: (near.focusShiftMm * unit(line.wavelengthNm)) / unit(near.wavelengthNm) };
      });
      expect(fine).toHaveLength(21);
      for (const spatialFrequencyPerMm of [30, 100, 200]) {
        const point = { spatialFrequencyPerMm, workingFNumber, defocusWaves: 0, wavelengthNm: 525 };
        const difference = systemMtf({ ...point, spectrum: taken }) - systemMtf({ ...point, spectrum: fine });
        expect(Math.abs(difference)).toBeLessThan(3e-3);
      }
    }
  });

  it.each([
    [{ abbeNumber: 0 }, /abbeNumber is 0/],
    [{ axialColourUm: Number.NaN }, /axialColourUm is NaN µm/],
    [{ bandwidthNm: -5 }, /bandwidthNm is -5 nm/],
  ])('refuses: %o', (change, message) => {
    const good = { model: tunablePair, focalPowerDpt: 1, ...light, abbeNumber: 30, axialColourUm: 0 };
    expect(() => layoutSpectrum({ ...good, ...change })).toThrow(message);
  });
});
