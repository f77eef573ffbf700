import { describe, expect, it } from 'vitest';
import { frameKernel } from '../../../src/twin/render/frame-kernel.js';
import { fastExposure } from '../../../src/twin/sensor/exposure.fast.js';
import { type Exposure, expose, poisson, type SensorModel } from '../../../src/twin/sensor/exposure.js';
import { type NoiseDraws, noiseDraws } from '../../../src/twin/sensor/noise-draws.js';

/** The camera of the worked example in references/tables/camera-noise.json, at 12 bit. */
const camera: SensorModel = { gainDnPerE: 0.35, blackLevelDn: 20, fullWellE: 10_500, readNoiseE: 2.5, bitDepth: 12 };
const size = { widthPx: 254, heightPx: 200, strideCount: 256 };

function flat(value: number, electronsAtWhiteE: number): Exposure {
  const count = size.strideCount * size.heightPx;
  return {
    ...size,
    image: new Float32Array(count).fill(value),
    response: new Float32Array(count).fill(1),
    electronsAtWhiteE,
  };
}

const draws = noiseDraws({ seed: 11, ...size });

type Version = (exposure: Exposure, sensor: SensorModel, draws: NoiseDraws) => Uint16Array;
const fast: Version = (exposure, sensor, frame) =>
  fastExposure({ kernel: frameKernel(), ...size, normals: frame.normals, response: exposure.response, sensor }).expose(
    exposure,
    frame,
  );
const versions: [string, Version][] = [
  ['readable', expose],
  ['fast', fast],
];

function statistics(values: Uint16Array) {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const variance = values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1);
  return { mean, variance, meanStd: Math.sqrt(variance / values.length) };
}

describe.each(versions)('exposure, %s version', (_name, version) => {
  it('reference: mean and variance of the worked example of EMVA 1288 (204.4721 e → 71.56524 DN, 25.89679 DN²)', () => {
    const { mean, variance, meanStd } = statistics(version(flat(1, 204.472128469), camera, draws.frame(1)));
    expect(Math.abs(mean - 20 - 71.5652449642)).toBeLessThan(4 * meanStd);
    // The sample variance of 50 800 values has a relative standard error of 0.63 %.
    expect(Math.abs(variance / 25.8967940708 - 1)).toBeLessThan(0.025);
  });

  it('reference: photon transfer: the slope of variance over mean is the gain K', () => {
    const low = statistics(version(flat(0.5, 4000), camera, draws.frame(2)));
    const high = statistics(version(flat(1, 4000), camera, draws.frame(3)));
    expect((high.variance - low.variance) / (high.mean - low.mean)).toBeCloseTo(0.35, 1);
    expect(high.variance / (0.35 ** 2 * (4000 + 2.5 ** 2) + 1 / 12)).toBeCloseTo(1, 1);
  });

  it('reference: small means follow Poisson: mean μ, variance μ + σ_d²', () => {
    const quiet = { ...camera, gainDnPerE: 20, readNoiseE: 0.4, bitDepth: 12 };
    for (const electrons of [0.3, 2, 11, 24]) {
      const { mean, variance, meanStd } = statistics(version(flat(1, electrons), quiet, draws.frame(7)));
      expect(Math.abs(mean - 20 - 20 * electrons)).toBeLessThan(4 * meanStd + 0.3 * (electrons < 1 ? 1 : 0));
      expect(variance / (400 * (electrons + 0.16) + 1 / 12)).toBeGreaterThan(0.95);
      expect(variance / (400 * (electrons + 0.16) + 1 / 12)).toBeLessThan(1.05);
    }
  });

  it('closed form: the dark frame has the black level and the dark noise (0.921389 DN with rounding)', () => {
    const { mean, variance } = statistics(version(flat(0, 1000), camera, draws.frame(4)));
    expect(mean).toBeCloseTo(20, 1);
    expect(Math.sqrt(variance)).toBeCloseTo(0.921389, 1);
  });

  it('property: grey values stop at full well (0.35 · 10 500 + 20), and at the largest value of the bit depth', () => {
    const full = version(flat(1, 50_000), camera, draws.frame(5));
    expect(new Set(full)).toEqual(new Set([3695]));
    expect(new Set(version(flat(1, 50_000), { ...camera, bitDepth: 8 }, draws.frame(5)))).toEqual(new Set([255]));
  });

  it('property: a frame depends on its number alone', () => {
    expect(version(flat(1, 300), camera, draws.frame(9))).toEqual(version(flat(1, 300), camera, draws.frame(9)));
    expect(version(flat(1, 300), camera, draws.frame(9))).not.toEqual(version(flat(1, 300), camera, draws.frame(10)));
  });
});

describe('exposure', () => {
  it('property: both versions agree but for a few charges on a rounding limit', () => {
    const exposure = flat(1, 900);
    for (let i = 0; i < exposure.image.length; i++) {
      exposure.image[i] = (i % 977) / 977;
      exposure.response[i] = 0.6 + (i % 31) / 100;
    }
    const plain = expose(exposure, camera, draws.frame(12));
    const quick = fast(exposure, camera, draws.frame(12));
    const different = plain.filter((value, i) => value !== quick[i]).length;
    expect(Math.max(...plain.map((value, i) => Math.abs(value - quick[i]!)))).toBeLessThanOrEqual(1);
    expect(different / plain.length).toBeLessThan(1e-3);
  });

  it('closed form: Poisson’s law at its steps', () => {
    const p0 = Math.exp(-2);
    expect(poisson(2, p0 - 1e-9)).toBe(0);
    expect(poisson(2, p0 + 1e-9)).toBe(1);
    expect(poisson(2, 3 * p0 + 1e-9)).toBe(2);
    expect(poisson(0, 0.999)).toBe(0);
  });
});
