import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  defocusOtf,
  defocusOtfWithSlope,
  defocusQuadrature,
  defocusStrehl,
  diffractionMtf,
} from '../../src/optics/index.js';
import { besselJ, hopkinsSeriesOtf } from './defocus-oracle.js';

const otf = (normalisedFrequency: number, defocusWaves: number) => defocusOtf({ normalisedFrequency, defocusWaves });

/**
 * Computed by three independent calculations of Hopkins's integral (quadrature, Bessel series, FFT of a sampled pupil);
 * no published table was at hand. Rows: W20 in waves; columns: normalised frequency.
 */
const frequencies = [0.05, 0.1, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.75, 0.8, 0.9];
const table: [number, number[]][] = [
  [0.0, [0.93636, 0.87289, 0.74706, 0.68504, 0.62384, 0.50463, 0.391, 0.28476, 0.18812, 0.14429, 0.10409, 0.03739]],
  [0.1, [0.93471, 0.86738, 0.7324, 0.66671, 0.60306, 0.48296, 0.37297, 0.27274, 0.18207, 0.1406, 0.10215, 0.03717]],
  [0.25, [0.92604, 0.83886, 0.65858, 0.5759, 0.50157, 0.37942, 0.28747, 0.21529, 0.15249, 0.12227, 0.09239, 0.03603]],
  [0.5, [0.89552, 0.74209, 0.43482, 0.31733, 0.22926, 0.12569, 0.08461, 0.07411, 0.07281, 0.0699, 0.06269, 0.03216]],
  [
    0.75,
    [0.84615, 0.59748, 0.1764, 0.06199, -0.00001, -0.03734, -0.03271, -0.01761, 0.00483, 0.01759, 0.02811, 0.02637],
  ],
  [
    1.0,
    [0.78009, 0.42665, -0.01441, -0.06831, -0.06952, -0.03689, -0.02007, -0.01904, -0.0173, -0.01014, 0.00203, 0.01949],
  ],
  [1.5, [0.60985, 0.10133, -0.06018, 0.00577, 0.03547, 0.02716, 0.01556, 0.01536, 0.01071, 0.00192, -0.00641, 0.00621]],
  [
    2.0,
    [0.41297, -0.08396, 0.045, 0.02664, -0.00814, -0.01555, -0.00767, -0.00818, -0.00167, 0.00583, 0.00625, -0.00174],
  ],
  [
    3.0,
    [0.05827, -0.01573, -0.02487, 0.01498, 0.00968, -0.00902, -0.00431, -0.00478, 0.00297, 0.00312, -0.0028, -0.00022],
  ],
];

describe('defocus OTF', () => {
  it.each(table)('reference: W20 = %d waves, 12 frequencies to the printed digits', (defocusWaves, row) => {
    row.forEach((value, column) => {
      expect(Math.abs(otf(frequencies[column]!, defocusWaves) - value)).toBeLessThanOrEqual(5.1e-6);
    });
  });

  it('reference: Hopkins’s Bessel series to 1e-12, up to 60 waves and beyond', () => {
    for (const waves of [0.01, 0.1, 0.5, 1, 2, 3, 5, 8, 12, 20, 30, 45, 60, 150]) {
      for (let s = 0.005; s < 1; s += 0.0373) {
        expect(Math.abs(otf(s, waves) - hopkinsSeriesOtf(s, waves))).toBeLessThan(1e-12);
      }
    }
  });

  it('property: 1 at zero frequency, even in W, never above the diffraction limit', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0, max: 1.2, noNaN: true }),
        fc.double({ min: 0, max: 60, noNaN: true }),
        (s, waves) => {
          expect(otf(0, waves)).toBe(1);
          expect(otf(s, -waves)).toBe(otf(s, waves));
          expect(Math.abs(otf(s, waves))).toBeLessThanOrEqual(diffractionMtf(s) + 1e-13);
        },
      ),
      { numRuns: 300 },
    );
  });

  it('closed form: the slope at zero frequency is −4/π whatever the defocus', () => {
    for (const waves of [0, 0.5, 2]) expect((otf(1e-7, waves) - 1) / 1e-7).toBeCloseTo(-4 / Math.PI, 4);
  });

  it('closed form: the volume under the OTF, relative to focus, is the Strehl ratio', () => {
    const volume = (waves: number) => {
      const steps = 4000;
      let sum = 0;
      for (let i = 0; i < steps; i++) sum += (otf((i + 0.5) / steps, waves) * (i + 0.5)) / steps ** 2;
      return sum;
    };
    for (const waves of [0.1, 0.25, 0.5, 0.75, 1, 1.5]) {
      expect(volume(waves) / volume(0)).toBeCloseTo(defocusStrehl(waves), 5);
    }
  });

  it('closed form: first zero for W20 = 0.75 lies at s = 0.300', () => {
    expect(otf(0.2999, 0.75)).toBeGreaterThan(0);
    expect(otf(0.3001, 0.75)).toBeLessThan(0);
  });

  it('closed form: far from focus at low frequency it is the geometric blur disc 2·J1(x)/x, x = 8πW·s', () => {
    for (const s of [0.001, 0.002, 0.004]) {
      const x = 8 * Math.PI * 40 * s;
      expect(otf(s, 40)).toBeCloseTo((2 * besselJ(x, 2)[1]!) / x, 2);
    }
  });

  it('property: the sum of cosines gives the same for every defocus up to its limit', () => {
    const { weights, phasesPerWaveRad } = defocusQuadrature({ normalisedFrequency: 0.37, maxDefocusWaves: 25 });
    for (const waves of [0, 0.3, 4, 17, 25]) {
      const sum = weights.reduce((total, weight, i) => total + weight * Math.cos(phasesPerWaveRad[i]! * waves), 0);
      expect(sum).toBeCloseTo(otf(0.37, waves), 12);
    }
  });

  it('closed form: the slope is the derivative of the transfer function', () => {
    for (const s of [0.01, 0.2, 0.5, 0.95]) {
      for (const waves of [-3, -0.4, 0.1, 1.2, 30]) {
        const { otf: value, slopePerWave } = defocusOtfWithSlope({ normalisedFrequency: s, defocusWaves: waves });
        const step = 1e-4;
        expect(value).toBeCloseTo(otf(s, waves), 12);
        expect(slopePerWave).toBeCloseTo((otf(s, waves + step) - otf(s, waves - step)) / (2 * step), 6);
      }
      expect(defocusOtfWithSlope({ normalisedFrequency: s, defocusWaves: 0 }).slopePerWave).toBe(0);
    }
  });

  it('degenerate: 0 at and beyond the cutoff, whatever the defocus', () => {
    expect(otf(1, 3)).toBe(0);
    expect(otf(7, 0)).toBe(0);
  });

  it('refuses NaN, negative frequency and infinite defocus', () => {
    expect(() => otf(Number.NaN, 1)).toThrow(/normalisedFrequency is NaN; allowed: a finite number ≥ 0/);
    expect(() => otf(-0.1, 1)).toThrow(/normalisedFrequency is -0.1/);
    expect(() => otf(0.1, Number.POSITIVE_INFINITY)).toThrow(/defocusWaves is Infinity/);
  });
});
