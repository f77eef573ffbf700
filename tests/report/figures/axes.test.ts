import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { scaleOver } from '../../../src/report/figures/axis.js';
import { overlap, placeLabels } from '../../../src/report/figures/place-labels.js';
import { wrapText } from '../../../src/report/figures/wrap-text.js';

const finite = fc.double({ min: -1e12, max: 1e12, noNaN: true });

describe('axes and labels', () => {
  it('property: a scale holds every value inside its range', () => {
    fc.assert(
      fc.property(fc.array(fc.oneof(finite, fc.constant(null)), { minLength: 1 }), (values) => {
        const scale = scaleOver(values, [40, 400]);
        for (const value of values) {
          if (value === null) continue;
          expect(scale(value)).toBeGreaterThanOrEqual(40);
          expect(scale(value)).toBeLessThanOrEqual(400);
        }
      }),
    );
  });

  it.each([[[]], [[5]], [[0, 0]], [[Number.NaN, null]]])('degenerate: values %j still span a range', (values) => {
    const [low, high] = scaleOver(values as number[], [0, 100]).domain();
    expect(high!).toBeGreaterThan(low!);
  });

  it('property: placed labels keep inside, clear of obstacles and of each other', () => {
    const bounds = { leftPx: 0, rightPx: 400, topPx: 0, bottomPx: 200 };
    const place = fc.record({
      text: fc.constantFrom('near', 'measured', 'lens limit 3 dpt'),
      xPx: fc.integer({ min: 0, max: 400 }),
      yPx: fc.integer({ min: 0, max: 200 }),
    });
    const box = fc
      .tuple(fc.integer({ min: 0, max: 380 }), fc.integer({ min: 0, max: 180 }))
      .map(([leftPx, topPx]) => ({ leftPx, topPx, rightPx: leftPx + 20, bottomPx: topPx + 20 }));
    fc.assert(
      fc.property(fc.array(place, { maxLength: 8 }), fc.array(box, { maxLength: 8 }), (wishes, obstacles) => {
        const placed = placeLabels({ wishes, bounds, obstacles });
        for (const [i, { box: a }] of placed.entries()) {
          expect(a.leftPx >= 0 && a.rightPx <= 400 && a.topPx >= 0 && a.bottomPx <= 200).toBe(true);
          for (const b of [...obstacles, ...placed.slice(i + 1).map((p) => p.box)]) expect(overlap(a, b)).toBe(false);
        }
      }),
    );
  });

  it('closed form: text wraps between words and keeps them all', () => {
    const text = 'the edge is tilted by too little';
    const lines = wrapText(text, 80);
    expect(lines.length).toBeGreaterThan(1);
    expect(lines.join(' ')).toBe(text);
    expect(wrapText('', 80)).toEqual([]);
  });
});
