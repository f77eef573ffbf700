import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  decibels,
  greyValueStatistics,
  photonsForSignalToNoise,
  photonsFromGreyValue,
  photonsPerPixel,
  type SensorNoiseModel,
  sensorFigures,
  signalToNoise,
} from '../../src/optics/index.js';

const sensor: SensorNoiseModel = {
  quantumEfficiency: 0.65,
  systemGainDnPerE: 0.35,
  darkNoiseE: 2.5,
  darkCurrentEPerS: 0,
  saturationCapacityE: 10500,
  darkOffsetDn: 0,
  darkNonUniformityE: 0,
  responseNonUniformity: 0,
};
const photons = photonsPerPixel({ irradianceUwPerCm2: 1, exposureMs: 1, wavelengthNm: 525, pixelPitchUm: 3.45 });

// Formulas: EMVA 1288 (eq. 4 published in Release 3.1; the rest from memory, derived again); values computed.
describe('sensor noise', () => {
  it('reference: photons of 1 µW/cm² in 1 ms at 525 nm on 3.45 µm → 314.5725; factor 50.34', () => {
    expect(photons).toBeCloseTo(314.5725, 4);
    const unit = photonsPerPixel({ irradianceUwPerCm2: 1, exposureMs: 1, wavelengthNm: 1000, pixelPitchUm: 1 });
    expect(unit).toBeCloseTo(50.3411657, 6);
  });

  it('reference: worked example, grey value and noise', () => {
    const grey = greyValueStatistics({ sensor, photons, exposureMs: 1 });
    expect(grey.signalE).toBeCloseTo(204.4721, 4);
    expect(grey.meanDn).toBeCloseTo(71.56524, 5);
    expect(grey.temporalStdDn ** 2).toBeCloseTo(25.89679, 5);
    expect(greyValueStatistics({ sensor, photons: 0, exposureMs: 1 }).temporalStdDn).toBeCloseTo(0.921389, 6);
  });

  it('reference: worked example, signal-to-noise', () => {
    const { temporal, total, ideal } = signalToNoise({ sensor, photons, exposureMs: 1 });
    expect(temporal).toBeCloseTo(14.06304, 5);
    expect(decibels(temporal)).toBeCloseTo(22.9616, 4);
    expect(ideal).toBeCloseTo(17.7362, 4);
    expect(total).toBe(temporal);
  });

  it('reference: worked example, figures of merit', () => {
    const figures = sensorFigures({ sensor });
    expect(figures.thresholdPhotons).toBeCloseTo(4.891697, 6);
    expect(figures.saturationPhotons).toBeCloseTo(16153.846, 3);
    expect(figures.dynamicRange).toBeCloseTo(3302.299, 3);
    expect(decibels(figures.dynamicRange)).toBeCloseTo(70.3763, 4);
    expect(Math.log2(figures.dynamicRange)).toBeCloseTo(11.6893, 4);
    expect(figures.maxSignalToNoise).toBeCloseTo(102.4695, 4);
    expect(decibels(figures.maxSignalToNoise)).toBeCloseTo(40.2119, 4);
  });

  it('closed form: at the threshold the signal-to-noise ratio is 1', () => {
    const { thresholdPhotons } = sensorFigures({ sensor });
    expect(signalToNoise({ sensor, photons: thresholdPhotons, exposureMs: 0 }).temporal).toBeCloseTo(1, 12);
  });

  // Public exercise, read as a linear variance model of a 12-bit camera: σ² = 1.0 + 0.1 g, and 2.5 + 0.025 g.
  it.each([
    [1.0, 0.1, 1.0, 20.2608],
    [2.5, 0.025, 1.5811, 10.2409],
  ])('reference: exercise, variance %d + %d·g', (darkVariance, gain, stdDark, stdFull) => {
    const camera = {
      ...sensor,
      systemGainDnPerE: gain,
      darkNoiseE: Math.sqrt(darkVariance - 1 / 12) / gain,
      saturationCapacityE: 1e6,
      quantumEfficiency: 0.5,
    };
    const at = (greyDn: number) =>
      greyValueStatistics({ sensor: camera, photons: greyDn / gain / 0.5, exposureMs: 0 }).temporalStdDn;
    expect(at(0)).toBeCloseTo(stdDark, 4);
    expect(Math.abs(at(4095) - stdFull)).toBeLessThan(1e-4);
  });

  it('property: variance rises with the mean at the slope of the gain (photon transfer)', () => {
    const at = (photonCount: number) => greyValueStatistics({ sensor, photons: photonCount, exposureMs: 1 });
    const slope = (at(3000).temporalStdDn ** 2 - at(0).temporalStdDn ** 2) / (at(3000).meanDn - at(0).meanDn);
    expect(slope).toBeCloseTo(0.35, 12);
  });

  it('property: the light is found again from the mean grey value', () => {
    const dark = { ...sensor, darkOffsetDn: 12, darkCurrentEPerS: 50 };
    fc.assert(
      fc.property(fc.double({ min: 0, max: 10000, noNaN: true }), (light) => {
        const { meanDn } = greyValueStatistics({ sensor: dark, photons: light, exposureMs: 20 });
        expect(photonsFromGreyValue({ sensor: dark, meanDn, exposureMs: 20 })).toBeCloseTo(light, 6);
      }),
    );
  });

  it('closed form: dark current adds charge and its shot noise; non-uniformity limits the total ratio to 1/PRNU', () => {
    const warm = { ...sensor, darkCurrentEPerS: 100 };
    const grey = greyValueStatistics({ sensor: warm, photons: 0, exposureMs: 100 });
    expect(grey.meanDn).toBeCloseTo(3.5, 12);
    expect(grey.temporalStdDn ** 2).toBeCloseTo(0.35 ** 2 * (6.25 + 10) + 1 / 12, 12);
    const uneven = { ...sensor, responseNonUniformity: 0.01, darkNonUniformityE: 1, saturationCapacityE: 1e12 };
    expect(signalToNoise({ sensor: uneven, photons: 1e10, exposureMs: 0 }).total).toBeCloseTo(100, 3);
  });

  it('degenerate: saturation holds the mean; below the dark level there is no light', () => {
    const grey = greyValueStatistics({ sensor, photons: 1e6, exposureMs: 1 });
    expect(grey.saturated).toBe(true);
    expect(grey.meanDn).toBeCloseTo(0.35 * 10500, 9);
    expect(photonsFromGreyValue({ sensor: { ...sensor, darkOffsetDn: 10 }, meanDn: 5, exposureMs: 1 })).toBe(0);
    expect(signalToNoise({ sensor, photons: 0, exposureMs: 0 }).temporal).toBe(0);
  });

  it('property: photons for a ratio are the inverse of signalToNoise; null beyond 1/PRNU', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 300, noNaN: true }),
        fc.double({ min: 0, max: 0.02, noNaN: true }),
        (ratio, responseNonUniformity) => {
          const uneven = { ...sensor, responseNonUniformity, darkNonUniformityE: 1, darkCurrentEPerS: 20 };
          const needed = photonsForSignalToNoise({ sensor: uneven, signalToNoise: ratio, exposureMs: 5 });
          fc.pre(Math.abs(ratio * responseNonUniformity - 1) > 1e-6);
          if (ratio * responseNonUniformity > 1) {
            expect(needed).toBeNull();
            return;
          }
          expect(signalToNoise({ sensor: uneven, photons: needed!, exposureMs: 5 }).total / ratio).toBeCloseTo(1, 9);
        },
      ),
    );
  });

  it('refuses sensors and light out of range', () => {
    const at = (change: Partial<SensorNoiseModel>) => sensorFigures({ sensor: { ...sensor, ...change } });
    expect(() => at({ quantumEfficiency: 1.2 })).toThrow(/sensor.quantumEfficiency is 1.2; allowed: .* ≤ 1/);
    expect(() => at({ systemGainDnPerE: 0 })).toThrow(/systemGainDnPerE is 0/);
    expect(() => at({ darkNoiseE: Number.NaN })).toThrow(/darkNoiseE is NaN/);
    expect(() => signalToNoise({ sensor, photons: -1, exposureMs: 1 })).toThrow(/photons is -1/);
    expect(() => photonsFromGreyValue({ sensor, meanDn: 4000, exposureMs: 1 })).toThrow(
      /meanDn is 4000 DN; allowed: a finite number < 36/,
    );
    expect(() => decibels(0)).toThrow(/ratio is 0/);
  });
});
