import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { radicesOf } from '../../../src/base/transform-plan.js';
import { renderGrid } from '../../../src/twin/render/render-grid.js';

describe('render grid', () => {
  it('property: it covers the field at the smallest magnification and the frequencies at the middle one', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 8, max: 4000 }),
        fc.double({ min: 0.01, max: 2, noNaN: true }),
        fc.double({ min: 1, max: 1.5, noNaN: true }),
        fc.double({ min: 0, max: 900, noNaN: true }),
        (widthPx, magnificationMin, spread, marginPx) => {
          const magnificationMax = magnificationMin * spread;
          const grid = renderGrid({
            widthPx,
            heightPx: widthPx,
            pixelPitchMm: 0.005,
            magnificationMin,
            magnificationMax,
            highestPerPx: 1,
            marginPx,
          });
          const pixelMm = 0.005 / magnificationMin;
          expect(grid.periodWidthMm).toBeGreaterThanOrEqual((widthPx + 32) * pixelMm * (1 - 1e-12));
          expect(grid.periodWidthMm).toBeLessThanOrEqual((widthPx + Math.max(32, widthPx / 4)) * pixelMm * (1 + 1e-12));
          const middlePixelMm = 0.01 / (magnificationMin + magnificationMax);
          expect((grid.halfColumnCount / grid.periodWidthMm) * middlePixelMm).toBeGreaterThanOrEqual(1 - 1e-12);
          expect(grid.gridColumnCount).toBeGreaterThan(2.3 * grid.halfColumnCount);
          const factors = radicesOf(grid.gridColumnCount);
          expect(factors.reduce((product, factor) => product * factor, 1)).toBe(grid.gridColumnCount);
        },
      ),
      { numRuns: 60 },
    );
  });

  it('refuses lengths with other prime factors than 2, 3 and 5', () => {
    expect(() => radicesOf(28)).toThrow(/length is 28/);
  });
});
