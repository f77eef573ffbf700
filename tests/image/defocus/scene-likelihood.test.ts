import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import {
  type ExpectedBlur,
  ringBlurTable,
  ringSpectrometer,
  sceneLikelihood,
  sceneLikelihoodFast,
} from '../../../src/image/index.js';

const { rings } = ringSpectrometer({ widthPx: 256, heightPx: 256 });
const table = ringBlurTable({ rings, cutoffPerPx: 1.2, maxBlurRadiusPx: 60 });
const blurAt = (blurRadiusPx: number): ExpectedBlur => {
  const shares = new Float64Array(rings.samples.length);
  const spreads = new Float64Array(rings.samples.length);
  table.read({ blurRadiusPx, blurRadiusStdPx: 0.15 }, shares, spreads);
  return { shares, spreads, leakRatio: blurRadiusPx / 256, errorRatio: 0 };
};

/** Frames of one power-law scene at blur radii: its own scatter is in all of them, each has its own noise. */
function framesAt(blurRadiiPx: readonly number[], { seed, noiseDn2 = 4 }: { seed: number; noiseDn2?: number }) {
  const random = seededRandom(seed);
  const scatter = (ring: number) => random.normal() / Math.sqrt(rings.coefficientCounts[ring]!);
  const scene = rings.frequenciesPerPx.map(
    (f, ring) => 60 * (f / 0.1) ** -2.6 * Math.exp(0.4 * random.normal()) * Math.max(0.1, 1 + scatter(ring)),
  );
  return blurRadiiPx.map((blur) => {
    const { shares } = blurAt(blur);
    const powersDn2 = scene.map((power, ring) => {
      // With the error that the model admits.
      const signal = power * shares[ring]! * Math.max(0.1, 1 + 0.08 * random.normal());
      // |signal + noise|²: the noise's own power, and its product with the signal.
      const noise = noiseDn2 * (1 + scatter(ring)) + Math.sqrt(2 * signal * noiseDn2) * scatter(ring);
      return Math.max(1e-3, signal + noise);
    });
    return { powersDn2, noiseDn2, coefficientCounts: rings.coefficientCounts };
  });
}

describe.each([
  { name: 'readable', likelihood: sceneLikelihood(rings) },
  { name: 'compiled', likelihood: sceneLikelihoodFast(rings) },
])('likelihood of an unknown scene, $name', ({ likelihood }) => {
  it('recovery: two frames at blur 12 and 31 px to one side: the answer is near, and the truth never ruled out', () => {
    for (const seed of [1, 2, 3, 4]) {
      const frames = framesAt([12, 31], { seed });
      const shifts = Array.from({ length: 81 }, (_, i) => (i - 40) / 10);
      const values = shifts.map(
        (shift) =>
          likelihood.fit(
            frames,
            [12, 31].map((blur) => blurAt(blur + shift)),
            0.08,
          ).logLikelihood,
      );
      const best = shifts[values.indexOf(Math.max(...values))]!;
      expect(Math.abs(best), `seed ${seed}`).toBeLessThan(1);
      expect(Math.max(...values) - values[shifts.indexOf(0)]!, `seed ${seed}`).toBeLessThan(4);
    }
  });

  it('recovery: two far probes do not meet half-way, where both would be equally blurred', () => {
    const frames = framesAt([25, 32], { seed: 6 });
    const truth = likelihood.fit(frames, [25, 32].map(blurAt), 0.08).logLikelihood;
    const halfWay = likelihood.fit(frames, [3.5, 3.5].map(blurAt), 0.08).logLikelihood;
    expect(truth).toBeGreaterThan(halfWay + 10);
  });

  it('recovery: the scene is found where the frames show it', () => {
    const frames = framesAt([0, 6], { seed: 7 });
    const { logPowers, logVariances } = likelihood.fit(frames, [0, 6].map(blurAt), 0.08);
    const ring = 10;
    const seen = Math.log((frames[0]!.powersDn2[ring]! - 4) / blurAt(0).shares[ring]!);
    expect(Math.abs(logPowers[ring]! - seen)).toBeLessThan(0.2);
    expect(logVariances[ring]).toBeLessThan(0.02);
  });

  it('property: the order of the frames and the unit of grey do not matter', () => {
    const frames = framesAt([5, 17], { seed: 8 });
    const shares = [5, 17].map(blurAt);
    const one = likelihood.fit(frames, shares, 0.1).logLikelihood;
    expect(likelihood.fit([...frames].reverse(), [...shares].reverse(), 0.1).logLikelihood).toBeCloseTo(one, 6);
    const scaled = frames.map((f) => ({
      ...f,
      powersDn2: f.powersDn2.map((p) => 16 * p),
      noiseDn2: 16 * f.noiseDn2,
    }));
    expect(likelihood.fit(scaled, shares, 0.1).logLikelihood).toBeCloseTo(one, 3);
  });

  it('degenerate: noise alone tells nothing: near and far hypotheses are within a few units', () => {
    const noise = framesAt([500, 500], { seed: 9 }).map((frame) => ({
      ...frame,
      powersDn2: new Float64Array(rings.samples.length).fill(frame.noiseDn2),
    }));
    const values = [
      [30, 40],
      [10, 20],
      [50, 59],
    ].map((pair) => likelihood.fit(noise, pair.map(blurAt), 0.08).logLikelihood);
    expect(Math.max(...values) - Math.min(...values)).toBeLessThan(12);
  });
});
