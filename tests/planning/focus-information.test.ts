import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Random, seededRandom } from '../../src/base/index.js';
import { defocusOtf, defocusOtfWithSlope } from '../../src/optics/index.js';
import {
  focusInformationPerDpt2,
  type SpectrumRing,
  sceneRings,
} from '../../src/planning/autofocus/focus-information.js';

const wavesPerDpt = 4;
const cyclesPerPxToS = 0.9;
const probesDpt = [-0.25, 0, 0.25];

/** What probes see of a ring when best focus lies at `bestDpt`. */
function seen(frequencyPerPx: number, bestDpt: number) {
  const both = probesDpt.map((probeDpt) =>
    defocusOtfWithSlope({
      normalisedFrequency: cyclesPerPxToS * frequencyPerPx,
      defocusWaves: wavesPerDpt * (bestDpt - probeDpt),
    }),
  );
  return {
    transfer: both.map(({ otf }) => otf),
    transferSlopePerDpt: both.map(({ slopePerWave }) => wavesPerDpt * slopePerWave),
  };
}

const ringsAt = (
  bestDpt: number,
  scene = { regionPx: 64, contrastToNoiseRatio: 2, spectrumExponent: 2 },
): SpectrumRing[] => sceneRings(scene).map((ring) => ({ ...ring, ...seen(ring.frequencyPerPx, bestDpt) }));

/** Σ|Y|², and Σ Y·Yᵀ of the frames, of one ring as it is seen with noise of power 1. */
function drawnCovariance(random: Random, ring: SpectrumRing): { count: number; sums: number[][] } {
  const count = Math.max(1, Math.round(ring.coefficientCount));
  const sums = probesDpt.map(() => probesDpt.map(() => 0));
  const amplitude = Math.sqrt(ring.sceneToNoiseRatio);
  // A complex normal coefficient is two real ones of half the power: both parts alike.
  for (let i = 0; i < 2 * count; i++) {
    const scene = amplitude * random.normal() * Math.SQRT1_2;
    const y = ring.transfer.map((h) => h * scene + random.normal() * Math.SQRT1_2);
    for (const [j, a] of y.entries()) for (const [k, b] of y.entries()) sums[j]![k]! += a * b;
  }
  return { count, sums };
}

/** −log likelihood of best focus, the power of each ring at its most likely. */
function negativeLogLikelihood(data: { frequencyPerPx: number; count: number; sums: number[][] }[], bestDpt: number) {
  let sum = 0;
  for (const { frequencyPerPx, count, sums } of data) {
    const h = probesDpt.map((probeDpt) =>
      defocusOtf({
        normalisedFrequency: cyclesPerPxToS * frequencyPerPx,
        defocusWaves: wavesPerDpt * (bestDpt - probeDpt),
      }),
    );
    const square = h.reduce((s, v) => s + v * v, 0);
    const along = h.reduce((s, a, j) => s + h.reduce((t, b, k) => t + a * b * sums[j]![k]!, 0), 0) / square;
    const power = Math.max(1, along / count);
    sum += count * Math.log(power) + along / power - along;
  }
  return sum;
}

function mostLikelyDpt(data: Parameters<typeof negativeLogLikelihood>[0], aboutDpt: number): number {
  let [low, high] = [aboutDpt - 0.1, aboutDpt + 0.1];
  const golden = (Math.sqrt(5) - 1) / 2;
  for (let i = 0; i < 22; i++) {
    const [a, b] = [high - golden * (high - low), low + golden * (high - low)];
    if (negativeLogLikelihood(data, a) < negativeLogLikelihood(data, b)) high = b;
    else low = a;
  }
  return (low + high) / 2;
}

describe('focusInformationPerDpt2', () => {
  it('closed form: Fisher matrix of the covariance with unknown power, by brute force', () => {
    // FIM_ab = n·tr(Σ⁻¹ ∂_aΣ Σ⁻¹ ∂_bΣ) (complex normal); the power's share removed by the Schur complement.
    const ring = { coefficientCount: 10, sceneToNoiseRatio: 3, transfer: [0.8, -0.2], transferSlopePerDpt: [0.5, 1.3] };
    const { sceneToNoiseRatio: g, transfer: h, transferSlopePerDpt: d } = ring;
    const outer = (a: number[], b: number[]) => a.map((x) => b.map((y) => x * y));
    const add = (a: number[][], b: number[][], f = 1) => a.map((row, i) => row.map((x, j) => x + f * b[i]![j]!));
    const times = (a: number[][], b: number[][]) =>
      a.map((row) => b[0]!.map((_, j) => row.reduce((s, x, k) => s + x * b[k]![j]!, 0)));
    const identity = [
      [1, 0],
      [0, 1],
    ];
    const covariance = add(identity, outer(h, h), g);
    const [[a, b], [c, e]] = covariance as [[number, number], [number, number]];
    const determinant = a * e - b * c;
    const inverse = [
      [e / determinant, -b / determinant],
      [-c / determinant, a / determinant],
    ];
    const byFocus = add(outer(d, h), outer(h, d)).map((row) => row.map((x) => g * x));
    const byPower = outer(h, h);
    const trace = (p: number[][], q: number[][]) => {
      const product = times(times(inverse, p), times(inverse, q));
      return 10 * (product[0]![0]! + product[1]![1]!);
    };
    const expected = trace(byFocus, byFocus) - trace(byFocus, byPower) ** 2 / trace(byPower, byPower);
    expect(focusInformationPerDpt2([ring])).toBeCloseTo(expected, 9);
  });

  it.each([0, 0.12])(
    'recovery: maximum likelihood on simulated spectra reaches the bound, best focus at %f dpt',
    (bestDpt) => {
      const rings = ringsAt(bestDpt);
      const counted = rings.map((ring) => ({
        ...ring,
        coefficientCount: Math.max(1, Math.round(ring.coefficientCount)),
      }));
      const boundDpt = 1 / Math.sqrt(focusInformationPerDpt2(counted));
      const random = seededRandom(20261124);
      const trials = 600;
      const frequencies = sceneRings({ regionPx: 64, contrastToNoiseRatio: 2, spectrumExponent: 2 });
      let [sum, squares] = [0, 0];
      for (let trial = 0; trial < trials; trial++) {
        const data = counted.map((ring, i) => ({
          frequencyPerPx: frequencies[i]!.frequencyPerPx,
          ...drawnCovariance(random, ring),
        }));
        const error = mostLikelyDpt(data, bestDpt) - bestDpt;
        sum += error;
        squares += error * error;
      }
      const spreadDpt = Math.sqrt(squares / trials - (sum / trials) ** 2);
      // Standard error of a spread from 600 trials: 2.9 %.
      expect(spreadDpt / boundDpt).toBeGreaterThan(0.92);
      expect(spreadDpt / boundDpt).toBeLessThan(1.08);
      expect(Math.abs(sum / trials)).toBeLessThan((4 * boundDpt) / Math.sqrt(trials));
    },
  );

  it('degenerate: one frame tells nothing of an unknown scene; no light tells nothing', () => {
    const [first] = ringsAt(0.1);
    const one = { ...first!, transfer: [first!.transfer[0]!], transferSlopePerDpt: [first!.transferSlopePerDpt[0]!] };
    expect(focusInformationPerDpt2([one])).toBeCloseTo(0, 12);
    expect(focusInformationPerDpt2(ringsAt(0.1).map((ring) => ({ ...ring, sceneToNoiseRatio: 0 })))).toBe(0);
  });

  it('property: more light, more pixels and more frames never tell less', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.01, max: 30, noNaN: true }),
        fc.double({ min: 1.01, max: 4, noNaN: true }),
        (noise, more) => {
          const at = (contrastToNoiseRatio: number, regionPx: number) =>
            focusInformationPerDpt2(ringsAt(0.07, { regionPx, contrastToNoiseRatio, spectrumExponent: 2 }));
          expect(at(noise * more, 64)).toBeGreaterThan(at(noise, 64));
          expect(at(noise, 128)).toBeGreaterThan(at(noise, 64));
          const fewer = ringsAt(0.07).map((ring) => ({
            ...ring,
            transfer: ring.transfer.slice(1),
            transferSlopePerDpt: ring.transferSlopePerDpt.slice(1),
          }));
          expect(focusInformationPerDpt2(ringsAt(0.07))).toBeGreaterThan(focusInformationPerDpt2(fewer));
        },
      ),
      { numRuns: 20 },
    );
  });

  it('closed form: the rings carry the variance of the scene, whatever its spectrum', () => {
    for (const spectrumExponent of [0, 1, 2, 3]) {
      const rings = sceneRings({ regionPx: 256, contrastToNoiseRatio: 3, spectrumExponent });
      // Parseval: Σ over all coefficients of power / region² is the variance of all pixels together
      const variance =
        rings.reduce((sum, ring) => sum + 2 * ring.coefficientCount * ring.sceneToNoiseRatio, 0) / 256 ** 2;
      expect(variance).toBeCloseTo(9, 9);
    }
  });

  it('reference: 10 rings against the sum over every coefficient of the region', () => {
    const size = 64;
    const scene = { regionPx: size, contrastToNoiseRatio: 2, spectrumExponent: 2 };
    const all: { frequencyPerPx: number; weight: number }[] = [];
    for (let u = -size / 2; u < size / 2; u++) {
      for (let v = -size / 2; v < size / 2; v++) {
        const frequencyPerPx = Math.hypot(u, v) / size;
        if (frequencyPerPx > 0 && frequencyPerPx < 0.5) all.push({ frequencyPerPx, weight: frequencyPerPx ** -2 });
      }
    }
    const whole = all.reduce((sum, { weight }) => sum + weight, 0);
    const every = all.map(({ frequencyPerPx, weight }) => ({
      coefficientCount: 0.5,
      sceneToNoiseRatio: (size * 2) ** 2 * (weight / whole),
      ...seen(frequencyPerPx, 0.05),
    }));
    const ringed = sceneRings(scene).map((ring) => ({ ...ring, ...seen(ring.frequencyPerPx, 0.05) }));
    expect(Math.sqrt(focusInformationPerDpt2(every) / focusInformationPerDpt2(ringed))).toBeCloseTo(1, 1);
  });
});
