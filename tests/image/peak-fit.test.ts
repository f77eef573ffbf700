import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { fitPeak, logParabolaPeak, parabolaPeak, parabolaPeakStd } from '../../src/image/index.js';

const bell = (x: number, peak = 1.37, width = 0.8, height = 100, baseline = 0) =>
  baseline + height * Math.exp(-((x - peak) ** 2) / (2 * width ** 2));
const grid = (n: number, from: number, to: number) =>
  Array.from({ length: n }, (_, i) => from + ((to - from) * i) / (n - 1));
const three = [0.5, 1.5, 2.5].map((position) => ({ position, value: bell(position) })) as never;

describe('peak of three samples', () => {
  it('reference: parabola 1.41211 and log-parabola 1.37 (computed apart)', () => {
    expect(parabolaPeak(three)).toBeCloseTo(1.41211, 5);
    expect(logParabolaPeak(three)).toBeCloseTo(1.37, 10);
  });

  it('reference: standard deviation 0.017678 for 90, 100, 90 with noise 0.5 (derived; Monte Carlo 0.01777)', () => {
    const samples = [90, 100, 90].map((value, i) => ({ position: i, value })) as never;
    expect(parabolaPeakStd({ samples, valueStd: 0.5 })).toBeCloseTo(0.017678, 6);
  });

  it('closed form: uneven spacing finds the vertex of a parabola', () => {
    const samples = [-3, 0.2, 4].map((position) => ({ position, value: 7 - 2 * (position - 1.25) ** 2 })) as never;
    expect(parabolaPeak(samples)).toBeCloseTo(1.25, 12);
  });

  it('refuses a line, equal positions and logarithms of nothing', () => {
    const line = [1, 2, 3].map((v) => ({ position: v, value: v })) as never;
    expect(parabolaPeak(line)).toBeNull();
    expect(() => parabolaPeakStd({ samples: line, valueStd: 1 })).toThrow(/with a peak/);
    const twice = [1, 1, 2].map((v) => ({ position: v, value: v })) as never;
    expect(() => parabolaPeak(twice)).toThrow(/three different positions/);
    expect(() => logParabolaPeak([0, 1, 2].map((v) => ({ position: v, value: v })) as never)).toThrow(/> 0/);
  });
});

describe('fitPeak', () => {
  it('closed form: finds an exact Gaussian on a baseline, in any order of positions', () => {
    const positions = grid(15, -2, 4).reverse();
    const fit = fitPeak({ positions, values: positions.map((x) => bell(x, 1.37, 0.8, 100, 40)) });
    expect(fit).toMatchObject({ kind: 'found' });
    if (fit.kind !== 'found') return;
    expect(fit.peak).toBeCloseTo(1.37, 7);
    expect(fit.width).toBeCloseTo(0.8, 6);
    expect(fit.height).toBeCloseTo(100, 5);
    expect(fit.baseline).toBeCloseTo(40, 5);
    expect(fit.residualRms).toBeLessThan(1e-6);
  });

  it.each([
    ['given noise', true, 11],
    ['noise from the residual', false, 15],
    ['few points', true, 7],
  ] as const)('recovery: 2 σ covers the true peak in 90 … 99 %% of noisy curves (%s)', (_, withStds, n) => {
    const random = seededRandom(3);
    const runs = 500;
    let covered = 0;
    let found = 0;
    for (let run = 0; run < runs; run++) {
      const truth = 0.9 + random.uniform();
      const positions = grid(n, -1.5, 4);
      const values = positions.map((x) => bell(x, truth, 1, 100, 30) + 3 * random.normal());
      const fit = fitPeak(withStds ? { positions, values, valueStds: positions.map(() => 3) } : { positions, values });
      if (fit.kind !== 'found') continue;
      found++;
      if (Math.abs(fit.peak - truth) <= 2 * fit.peakStd) covered++;
    }
    expect(found / runs).toBeGreaterThan(0.97);
    expect(covered / found).toBeGreaterThan(0.9);
    expect(covered / found).toBeLessThanOrEqual(0.99);
  });

  it('property: scale and shift of both axes carry over', () => {
    const random = seededRandom(8);
    const positions = grid(13, 0, 3);
    const values = positions.map((x) => bell(x, 1.4, 0.6, 10, 2) + 0.2 * random.normal());
    const a = fitPeak({ positions, values });
    const b = fitPeak({ positions: positions.map((x) => 1000 * x - 5), values: values.map((v) => 1e-3 * v + 8) });
    if (a.kind !== 'found' || b.kind !== 'found') throw new Error('no peak');
    expect((b.peak + 5) / 1000).toBeCloseTo(a.peak, 6);
    expect(b.peakStd / 1000 / a.peakStd).toBeCloseTo(1, 4);
  });

  it('refuses a rise to the end of the sweep', () => {
    const positions = grid(9, -3, 1);
    expect(fitPeak({ positions, values: positions.map((x) => bell(x, 2)) })).toMatchObject({ reason: 'at-end' });
    const down = grid(9, 2, 5);
    expect(fitPeak({ positions: down, values: down.map((x) => bell(x)) })).toMatchObject({ reason: 'at-end' });
  });

  it('refuses two peaks of similar height, and takes a small side peak', () => {
    const positions = grid(31, 0, 10);
    const twin = (second: number) => positions.map((x) => bell(x, 3, 0.8, 100, 20) + bell(x, 7, 0.8, second));
    expect(fitPeak({ positions, values: twin(70) })).toMatchObject({ kind: 'none', reason: 'multiple' });
    expect(fitPeak({ positions, values: twin(110) })).toMatchObject({ kind: 'none', reason: 'multiple' });
    expect(fitPeak({ positions, values: twin(20) })).toMatchObject({ kind: 'found' });
  });

  it('refuses too few points and constant curves', () => {
    expect(fitPeak({ positions: [0, 1, 2, 3], values: [1, 2, 1, 0] })).toMatchObject({ reason: 'too-few' });
    expect(fitPeak({ positions: grid(9, 0, 1), values: Array(9).fill(5) })).toMatchObject({ reason: 'flat' });
  });

  it('refuses pure noise: a false peak is found in fewer than 10 % of curves, 3 % with known noise', () => {
    const random = seededRandom(5);
    const positions = grid(21, 0, 1);
    let blind = 0;
    let informed = 0;
    for (let run = 0; run < 300; run++) {
      const values = positions.map(() => 100 + random.normal());
      if (fitPeak({ positions, values }).kind === 'found') blind++;
      if (fitPeak({ positions, values, valueStds: positions.map(() => 1) }).kind === 'found') informed++;
    }
    expect(blind / 300).toBeLessThan(0.1);
    expect(informed / 300).toBeLessThan(0.03);
  });

  it('refuses lists that do not match, repeated positions and NaN', () => {
    expect(() => fitPeak({ positions: [1, 2], values: [1] })).toThrow(/one per position/);
    expect(() => fitPeak({ positions: [1, 1, 2, 3, 4], values: [1, 2, 3, 2, 1] })).toThrow(/each position once/);
    expect(() => fitPeak({ positions: [0, 1, 2, 3, 4], values: [1, 2, Number.NaN, 2, 1] })).toThrow(/values\[2\]/);
  });
});
