import { describe, expect, it } from 'vitest';
import { aberratedOtf, aberratedOtfGrid } from '../../src/optics/index.js';

const frequencies = [0.01, 0.03, 0.07, 0.1, 0.2, 0.33, 0.5, 0.7, 0.9];

describe('grid of aberrated transfer functions', () => {
  it.each([0, 0.4, -0.3])('property: within 3e-3 of the integral, W040 = %s waves', (sphericalWaves) => {
    const grid = aberratedOtfGrid({ sphericalWaves });
    const places = grid.place(frequencies);
    const otf = new Float64Array(frequencies.length);
    for (const waves of [-30, -12, -5, -2.2, -1, -0.3, 0, 0.4, 1, 2, 6, 15, 35]) {
      grid.readAll(places, waves, otf);
      frequencies.forEach((s, i) => {
        if (Math.abs(waves) * s * (1 - s) > 2.9) return;
        const exact = aberratedOtf({
          normalisedFrequency: s,
          defocusWaves: waves - sphericalWaves,
          sphericalWaves,
        });
        expect(Math.abs(otf[i]! - exact), `s ${s}, ${waves} waves`).toBeLessThan(3e-3);
      });
    }
  });

  it('property: the other sign of the aberration is the other side of focus', () => {
    const [plus, minus] = [0.25, -0.25].map((sphericalWaves) => aberratedOtfGrid({ sphericalWaves }));
    const places = plus!.place(frequencies);
    const [one, other] = [new Float64Array(frequencies.length), new Float64Array(frequencies.length)];
    plus!.readAll(places, 1.7, one);
    minus!.readAll(places, -1.7, other);
    one.forEach((value, i) => {
      expect(value).toBeCloseTo(other[i]!, 9);
    });
  });

  it('degenerate: nothing passes beyond the cutoff, and far beyond the grid next to nothing', () => {
    const grid = aberratedOtfGrid({ sphericalWaves: 0 });
    const otf = new Float64Array(2);
    grid.readAll(grid.place([1, 0.5]), 400, otf);
    expect(otf[0]).toBe(0);
    expect(Math.abs(otf[1]!)).toBeLessThan(1e-3);
  });

  it('refuses an aberration beyond a wave', () => {
    expect(() => aberratedOtfGrid({ sphericalWaves: 1.2 })).toThrow('sphericalWaves');
  });
});
