import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  comaMtf,
  comaMtfFast,
  diffractionMtf,
  gravityComaRmsWaves,
  pupilShapeOtf,
  wavefrontErrorMtf,
} from '../../src/optics/index.js';

describe('coma', () => {
  it('property: no orientation of the coma is worse than the one taken', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 0.95, noNaN: true }),
        fc.double({ min: 0, max: 0.12, noNaN: true }),
        fc.double({ min: 0, max: Math.PI, noNaN: true }),
        (normalisedFrequency, comaRmsWaves, comaAzimuthRad) => {
          const { real, imaginary } = pupilShapeOtf({
            normalisedFrequency,
            discs: [{ centreX: 0, centreY: 0, radius: 1 }],
            defocusWaves: 0,
            comaWaves: comaRmsWaves * Math.sqrt(72),
            comaAzimuthRad,
          });
          const taken = comaMtf({ normalisedFrequency, comaRmsWaves }) * diffractionMtf(normalisedFrequency);
          expect(taken).toBeLessThan(Math.hypot(real, imaginary) + 1e-5);
        },
      ),
    );
  });

  it('reference: the mean over orientations lies near Shannon’s factor, the worst one below it', () => {
    for (const normalisedFrequency of [0.25, 0.5]) {
      const comaRmsWaves = 0.05;
      const shannon = wavefrontErrorMtf({ normalisedFrequency, wavefrontErrorRmsWaves: comaRmsWaves });
      const turned = Array.from({ length: 16 }, (_, i) => {
        const { real, imaginary } = pupilShapeOtf({
          normalisedFrequency,
          discs: [{ centreX: 0, centreY: 0, radius: 1 }],
          defocusWaves: 0,
          comaWaves: comaRmsWaves * Math.sqrt(72),
          comaAzimuthRad: (i * Math.PI) / 16,
        });
        return Math.hypot(real, imaginary) / diffractionMtf(normalisedFrequency);
      });
      const mean = turned.reduce((sum, factor) => sum + factor, 0) / turned.length;
      expect(Math.abs(mean - shannon)).toBeLessThan(0.05);
      expect(comaMtf({ normalisedFrequency, comaRmsWaves })).toBeLessThan(shannon);
    }
  });

  it('closed form: the volume under the transfer function falls as the Strehl ratio exp(−(2π·rms)²)', () => {
    const rms = 0.05;
    const waves = rms * Math.sqrt(72);
    let [clear, coma] = [0, 0];
    // Strehl = ∫∫ OTF / ∫∫ diffraction; the tilt that comes with W31 shifts the image and is followed by the phase.
    const tiltWaves = (2 / 3) * waves;
    for (let i = 0; i < 60; i++) {
      for (let j = 0; j < 24; j++) {
        const s = (i + 0.5) / 60;
        const azimuth = ((j + 0.5) / 24) * 2 * Math.PI;
        const { real, imaginary } = pupilShapeOtf({
          normalisedFrequency: s,
          discs: [{ centreX: 0, centreY: 0, radius: 1 }],
          defocusWaves: 0,
          comaWaves: waves,
          comaAzimuthRad: azimuth,
        });
        const tiltPhase = -2 * Math.PI * tiltWaves * 2 * s * Math.cos(azimuth);
        coma += s * (real * Math.cos(tiltPhase) - imaginary * Math.sin(tiltPhase));
        clear += s * diffractionMtf(s);
      }
    }
    expect(coma / clear).toBeCloseTo(Math.exp(-((2 * Math.PI * rms) ** 2)), 3);
  });

  it('degenerate: no coma, or a frequency of 0 or beyond the cutoff, costs nothing', () => {
    expect(comaMtf({ normalisedFrequency: 0.5, comaRmsWaves: 0 })).toBe(1);
    expect(comaMtf({ normalisedFrequency: 0, comaRmsWaves: 0.1 })).toBe(1);
    expect(comaMtf({ normalisedFrequency: 1.1, comaRmsWaves: 0.1 })).toBe(1);
  });

  it('property: the table follows within 4e-4 for small coma and 0.01 for any', () => {
    for (const [comaRmsWaves, most] of [
      [0.02, 4e-4],
      [0.1, 4e-4],
      [0.3, 0.01],
      [0.5, 0.01],
    ] as const) {
      for (let s = 0; s < 1.1; s += 0.0137) {
        const at = { normalisedFrequency: s, comaRmsWaves };
        expect(Math.abs(comaMtfFast(at) - comaMtf(at))).toBeLessThan(most);
      }
    }
  });

  it('closed form: gravity’s coma follows the sine of the angle', () => {
    const at = (axisFromVerticalDeg: number) => gravityComaRmsWaves({ horizontalRmsWaves: 0.2, axisFromVerticalDeg });
    expect(at(0)).toBe(0);
    expect(at(30)).toBeCloseTo(0.1, 12);
    expect(at(90)).toBe(0.2);
    expect(at(180)).toBeCloseTo(0, 12);
  });

  it('refuses: negative or missing values', () => {
    expect(() => comaMtf({ normalisedFrequency: 0.1, comaRmsWaves: -1 })).toThrow(/comaRmsWaves is -1 waves/);
    expect(() => gravityComaRmsWaves({ horizontalRmsWaves: 0.1, axisFromVerticalDeg: Number.NaN })).toThrow(
      /axisFromVerticalDeg is NaN/,
    );
  });
});
