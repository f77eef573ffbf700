import { describe, expect, it } from 'vitest';
import {
  airyRadiusUm,
  checkFormatLabel,
  defocusWavesFromImageShift,
  diffractionMtf,
  roughSettlingTimeMs,
  sensorSize,
  stepSettlingTimeMs,
  thinLensImage,
} from '../../src/optics/index.js';

/** Published and computed values that no other file of this folder holds. */
describe('reference values', () => {
  it('reference: OpenStax m58530, camera f 50 mm with the film at 51.0 mm: object at 2.55 m; a 2.00 cm image shows 1.00 m', () => {
    const image = thinLensImage({ focalLengthMm: 50, objectDistanceMm: 2550 });
    expect(image.imageDistanceMm).toBeCloseTo(51, 6);
    expect(20 / Math.abs(image.magnification!) / 1000).toBeCloseTo(1, 6);
  });

  it('reference: OpenStax m58530, fields: slide of 24 × 36 mm on 0.800 × 1.20 m; 36 mm of film sees 2.12 m at 3.00 m', () => {
    const slide = Math.abs(thinLensImage({ focalLengthMm: 100, objectDistanceMm: 103 }).magnification!);
    expect([(24 * slide) / 1000, (36 * slide) / 1000].map((metres) => metres.toPrecision(3))).toEqual([
      '0.800',
      '1.20',
    ]);
    const camera = Math.abs(thinLensImage({ focalLengthMm: 50, objectDistanceMm: 3000 }).magnification!);
    expect((36 / camera / 1000).toFixed(2)).toBe('2.12');
  });

  it('reference: OpenStax m58530, the Sun of 1.40e6 km at 1.50e8 km by f 100 mm is 0.933 mm, inverted', () => {
    const { magnification } = thinLensImage({ focalLengthMm: 100, objectDistanceMm: 1.5e14 });
    expect((magnification! * 1.4e12).toFixed(3)).toBe('-0.933');
  });

  it('reference: OpenStax, two lenses −20 and +20 cm 5 cm apart: size as printed; side and sign of the print are wrong', () => {
    const first = thinLensImage({ focalLengthMm: -200, objectDistanceMm: 250 });
    const second = thinLensImage({ focalLengthMm: 200, objectDistanceMm: 50 - first.imageDistanceMm! });
    // Printed: 83 cm to the right, m = −2.3; the second object lies inside the focal length, so the image is virtual.
    expect(second.imageDistanceMm! / 10).toBeCloseTo(-82.857, 3);
    expect(first.magnification! * second.magnification!).toBeCloseTo(2.2857, 4);
  });

  // Typical sizes, not standardised; names: 16 mm per inch from 1/2 inch up, 18 mm below (encyclopaedia, optics glossary).
  it.each([
    ['1/3', 1 / 3, 4.8, 3.6, 6.0],
    ['1/2.9', 1 / 2.9, 4.968, 3.726, 6.21],
    ['1/2', 1 / 2, 6.4, 4.8, 8.0],
    ['1/1.8', 1 / 1.8, 7.18, 5.32, 8.936],
    ['2/3', 2 / 3, 8.8, 6.6, 11.0],
    ['1', 1, 12.8, 9.6, 16.0],
    ['1, other', 1, 13.2, 8.8, 15.864],
    ['1.1', 1.1, 14.131, 10.35, 17.516],
    ['4/3', 4 / 3, 17.3, 13.0, 21.64],
  ])('reference: format of %s inch', (_, formatInch, widthMm, heightMm, diagonal) => {
    const { diagonalMm } = sensorSize({
      columns: Math.round(1000 * widthMm),
      rows: Math.round(1000 * heightMm),
      pixelPitchUm: 1,
    });
    expect(diagonalMm).toBeCloseTo(diagonal, 3);
    expect(checkFormatLabel({ formatInch, diagonalMm }).fits).toBe(true);
  });

  it.each([
    [2400, 550, 2.796e-7],
    [1, 633, 7.72e-4],
    [3, 550, 2.24e-4],
  ])(
    'reference: OpenStax m58548, angle to the first dark ring of %d mm at %d nm',
    (pupilMm, wavelengthNm, angleRad) => {
      const focalLengthMm = 1000;
      const radiusUm = airyRadiusUm({ wavelengthNm, workingFNumber: focalLengthMm / pupilMm });
      expect(Math.abs(radiusUm / 1000 / focalLengthMm / angleRad - 1)).toBeLessThan(2e-3);
    },
  );

  it.each([
    [2.8, 8.624],
    [4, 17.6],
    [5.6, 34.496],
    [8, 70.4],
    [16, 281.6],
  ])(
    'reference: at f/%d and 550 nm a quarter wave is ±%d µm of focus (2·λ·N², computed)',
    (workingFNumber, shiftUm) => {
      const waves = defocusWavesFromImageShift({ imageShiftMm: shiftUm / 1000, workingFNumber, wavelengthNm: 550 });
      expect(waves).toBeCloseTo(0.25, 9);
    },
  );

  it('reference: the point image of the diffraction MTF: 83.78 % inside the first dark ring, Rayleigh’s dip 0.73503', () => {
    // Smith, Modern Optical Engineering 11.6 prints 84 %; 0.83778, 0.73503 and the contrast 0.1527 are computed.
    const ring = 1.2196699;
    const zerothBessel = (x: number) => {
      let sum = 0;
      for (let i = 0; i < 40; i++) sum += Math.cos(x * Math.sin((Math.PI * (i + 0.5)) / 40)) / 40;
      return sum;
    };
    const steps = 2000;
    const mtf = Float64Array.from({ length: steps }, (_, i) => diffractionMtf((i + 0.5) / steps));
    const pointAt = (radius: number) => {
      let sum = 0;
      for (let i = 0; i < steps; i++) {
        const s = (i + 0.5) / steps;
        sum += (2 * Math.PI * mtf[i]! * zerothBessel(2 * Math.PI * radius * s) * s) / steps;
      }
      return sum;
    };
    let inside = 0;
    const rings = 60;
    for (let i = 0; i < rings; i++) {
      const radius = (ring * (i + 0.5)) / rings;
      inside += 2 * Math.PI * radius * pointAt(radius) * (ring / rings);
    }
    expect(inside).toBeCloseTo(0.83778, 3);
    const dip = (2 * pointAt(ring / 2)) / pointAt(0);
    expect(dip).toBeCloseTo(0.73503, 4);
    expect((1 - dip) / (1 + dip)).toBeCloseTo(0.1527, 4);
  });

  // 4/(ζω) and the envelope's 2 % are the textbook's bounds (from memory); plans take the exact last crossing.
  it.each([
    [100, 0.05, 127.324, 124.563],
    [85, 0.1, 74.896, 73.343],
    [60, 0.2, 53.052, 52.156],
    [200, 0.02, 159.155, 155.662],
  ])(
    'reference: %d Hz, ζ %d settles no later than the bounds %d and %d ms',
    (hz, dampingRatio, roughMs, envelopeMs) => {
      const rough = roughSettlingTimeMs({ naturalFrequencyHz: hz, dampingRatio });
      expect(rough.ruleMs.toFixed(3)).toBe(String(roughMs));
      expect(rough.envelopeMs.toFixed(3)).toBe(String(envelopeMs));
      const exactMs = stepSettlingTimeMs({ fraction: 0.02, naturalFrequencyHz: hz, dampingRatio, deadTimeMs: 0 })!;
      expect(exactMs).toBeLessThanOrEqual(envelopeMs);
      expect(exactMs).toBeGreaterThan(0.9 * envelopeMs);
    },
  );
});
