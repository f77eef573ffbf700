import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import type { CurveSearch } from '../../../src/procedures/autofocus/classic/curve-search.js';
import { fibonacci, fibonacciLookCount } from '../../../src/procedures/autofocus/classic/fibonacci.js';
import { fullSweep } from '../../../src/procedures/autofocus/classic/full-sweep.js';
import { goldenLookCount, goldenSection } from '../../../src/procedures/autofocus/classic/golden-section.js';
import { hillClimb } from '../../../src/procedures/autofocus/classic/hill-climb.js';
import { pixelNoiseStdDn } from '../../../src/procedures/autofocus/classic/pixel-noise.js';

/** Lets a search look at a curve. */
function follow(search: CurveSearch, curve: (x: number) => number) {
  const looks: number[] = [];
  let step = search.next();
  while (!step.done) {
    looks.push(step.value);
    step = search.next(curve(step.value));
  }
  return { looks, end: step.value };
}

const hump =
  (top: number, width = 1.2) =>
  (x: number) =>
    3 + 100 / (1 + ((x - top) / width) ** 2);
const range = { lowDpt: -5, highDpt: 5, startDpt: null, toleranceDpt: 0.05 };

describe('Fibonacci search', () => {
  it('closed form: n looks leave 1 / F(n + 1) of the interval', () => {
    expect([1 / 5, 1 / 8, 1 / 13, 1 / 21, 1 / 377].map(fibonacciLookCount)).toEqual([4, 5, 6, 7, 13]);
  });

  it('closed form: tops all over the range are found in that many looks, to half the last interval', () => {
    for (let top = -4.7; top < 4.8; top += 0.31) {
      const { looks, end } = follow(fibonacci(range), hump(top));
      expect(looks).toHaveLength(fibonacciLookCount(0.005));
      expect(end.kind === 'top' && Math.abs(end.focalPowerDpt - top)).toBeLessThanOrEqual(0.05);
    }
  });

  it('property: every look lies inside the range', () => {
    for (const top of [-9, -5, 0, 5, 9]) {
      for (const look of follow(fibonacci(range), hump(top)).looks) expect(Math.abs(look)).toBeLessThanOrEqual(5);
    }
  });
});

describe('golden-section search', () => {
  it('closed form: each look after the second keeps 61.8 % of the interval', () => {
    const share = 0.005;
    const count = goldenLookCount(share);
    const golden = (Math.sqrt(5) - 1) / 2;
    expect(golden ** (count - 1)).toBeLessThanOrEqual(share);
    expect(golden ** (count - 2)).toBeGreaterThan(share);
    const { looks, end } = follow(goldenSection(range), hump(1.234));
    expect(looks).toHaveLength(count);
    expect(end.kind === 'top' && Math.abs(end.focalPowerDpt - 1.234)).toBeLessThanOrEqual(0.05);
  });

  it('property: needs at most two looks more than the Fibonacci search', () => {
    for (let share = 0.3; share > 1e-4; share /= 1.3) {
      expect(goldenLookCount(share) - fibonacciLookCount(share)).toBeLessThanOrEqual(2);
    }
  });
});

describe.each([
  ['Fibonacci', () => fibonacci(range)],
  ['golden section', () => goldenSection(range)],
  ['hill climb', () => hillClimb(range)],
  ['full sweep', () => fullSweep(range, { fit: 'gaussian' })],
])('%s', (_, start) => {
  it('refuses: a curve that rises to an end of the range', () => {
    for (const top of [-8, 8]) {
      expect(follow(start(), hump(top)).end).toMatchObject({ kind: 'none', reason: 'at-end' });
    }
  });
});

describe('full sweep', () => {
  it('recovery: a Gaussian top to a thousandth of the range by least squares, from even steps over all of it', () => {
    const curve = (x: number) => 2 + 50 * Math.exp(-((x - 1.37) ** 2) / 0.5);
    const { looks, end } = follow(fullSweep(range, { fit: 'gaussian' }), curve);
    expect(looks).toHaveLength(60);
    expect([looks[0], looks.at(-1)]).toEqual([-5, 5]);
    expect(end).toMatchObject({ kind: 'top' });
    if (end.kind === 'top') expect(end.focalPowerDpt).toBeCloseTo(1.37, 2);
  });

  it('closed form: the parabola through the logarithms meets a Gaussian without baseline exactly', () => {
    const curve = (x: number) => 50 * Math.exp(-((x - 1.37) ** 2) / 0.5);
    const { end } = follow(fullSweep(range, { fit: 'parabola', count: 41 }), curve);
    if (end.kind === 'top') expect(end.focalPowerDpt).toBeCloseTo(1.37, 9);
    expect(end.kind).toBe('top');
  });

  it('refuses: two tops of like height', () => {
    const curve = (x: number) => hump(-2, 0.4)(x) + hump(2, 0.4)(x);
    expect(follow(fullSweep(range, { fit: 'gaussian' }), curve).end).toMatchObject({ reason: 'several-tops' });
  });
});

describe('adaptive hill climb', () => {
  it('property: from any start it reaches the top of a curve with one top, in fewer looks than a full sweep', () => {
    for (let top = -4.4; top < 4.5; top += 0.37) {
      for (const start of [null, -5, -1, 3, 5]) {
        const { looks, end } = follow(hillClimb({ ...range, startDpt: start }), hump(top));
        expect(end.kind === 'top' && Math.abs(end.focalPowerDpt - top)).toBeLessThanOrEqual(0.05);
        expect(looks.length).toBeLessThan(45);
      }
    }
  });

  it('degenerate: it stays on a side top that it meets first', () => {
    const curve = (x: number) => 0.4 * hump(-3, 0.4)(x) + hump(3, 0.4)(x);
    const { end } = follow(hillClimb({ ...range, startDpt: -5 }), curve);
    expect(end.kind === 'top' && end.focalPowerDpt).toBeCloseTo(-3, 1);
  });
});

describe('noise of a pixel from one frame', () => {
  it('recovery: white noise of known standard deviation on a slope', () => {
    const random = seededRandom(4);
    const data = Uint16Array.from({ length: 200 * 200 }, (_, i) => Math.round(500 + (i % 200) + 12 * random.normal()));
    const image = { widthPx: 200, heightPx: 200, bitDepth: 12, data };
    const region = { xPx: 10, yPx: 10, widthPx: 180, heightPx: 180 };
    expect(pixelNoiseStdDn(image, region)).toBeCloseTo(12, 0);
  });
});
