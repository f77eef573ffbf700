import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';

const draws = 200_000;

describe('seeded random numbers', () => {
  it('property: the same seed gives the same numbers, another seed others', () => {
    const take = (seed: number) =>
      Array.from(
        { length: 5 },
        (
          (random) => () =>
            random.uniform()
        )(seededRandom(seed)),
      );
    expect(take(1)).toEqual(take(1));
    expect(take(1)).not.toEqual(take(2));
  });

  it('closed form: moments of the uniform distribution, within five standard errors', () => {
    const random = seededRandom(11);
    let sum = 0;
    let squares = 0;
    for (let i = 0; i < draws; i++) {
      const u = random.uniform();
      expect(u >= 0 && u < 1).toBe(true);
      sum += u;
      squares += u * u;
    }
    expect(Math.abs(sum / draws - 1 / 2)).toBeLessThan(5 * Math.sqrt(1 / 12 / draws));
    expect(Math.abs(squares / draws - 1 / 3)).toBeLessThan(5 * Math.sqrt(4 / 45 / draws));
  });

  it('closed form: mean 0, variance 1, kurtosis 3 of the normal distribution, within five standard errors', () => {
    const random = seededRandom(12);
    let m1 = 0;
    let m2 = 0;
    let m4 = 0;
    for (let i = 0; i < draws; i++) {
      const x = random.normal();
      m1 += x;
      m2 += x * x;
      m4 += x ** 4;
    }
    expect(Math.abs(m1 / draws)).toBeLessThan(5 / Math.sqrt(draws));
    expect(Math.abs(m2 / draws - 1)).toBeLessThan(5 * Math.sqrt(2 / draws));
    expect(Math.abs(m4 / draws - 3)).toBeLessThan(5 * Math.sqrt(96 / draws));
  });

  it('property: forks are named, independent of what the parent has drawn, and uncorrelated', () => {
    const parent = seededRandom(5);
    const before = parent.fork('noise').uniform();
    parent.uniform();
    expect(parent.fork('noise').uniform()).toBe(before);
    const a = parent.fork('noise');
    const b = parent.fork('build errors');
    let product = 0;
    for (let i = 0; i < draws; i++) product += a.normal() * b.normal();
    expect(Math.abs(product / draws)).toBeLessThan(5 / Math.sqrt(draws));
  });

  it('refuses a seed that is not a whole number of 32 bits', () => {
    for (const seed of [-1, 1.5, Number.NaN, 2 ** 32]) expect(() => seededRandom(seed)).toThrow(/seed is/);
  });
});
