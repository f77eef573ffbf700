import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { paretoFront } from '../../../src/planning/search/pareto-front.js';
import { type Margins, requirements, stageMargin, stages } from '../../../src/planning/search/requirements.js';

const margins = (values: number[]) =>
  Object.fromEntries(requirements.map((key, i) => [key, values[i % values.length]!])) as Margins;
const random = fc
  .array(fc.integer({ min: 0, max: 3 }), { minLength: 10, maxLength: 10 })
  .map((v) => margins(v.map((x) => x / 2)));

const beats = (a: Margins, b: Margins) => {
  const pairs = stages.map(
    (stage) => [Math.min(1, stageMargin(a, stage)), Math.min(1, stageMargin(b, stage))] as const,
  );
  return pairs.every(([x, y]) => x >= y) && pairs.some(([x, y]) => x > y);
};

describe('Pareto front', () => {
  it('property: a layout is on it where none of the others beats it', () => {
    fc.assert(
      fc.property(fc.array(random, { minLength: 1, maxLength: 40 }), (layouts) => {
        expect(paretoFront(layouts)).toEqual(layouts.map((one) => !layouts.some((other) => beats(other, one))));
      }),
      { seed: 1 },
    );
  });

  it('closed form: more than twice what is needed no longer speaks for a layout', () => {
    expect(paretoFront([margins([5]), margins([1.2])])).toEqual([true, true]);
    expect(paretoFront([margins([0.9]), margins([0.8])])).toEqual([true, false]);
  });

  it('degenerate: no layouts, no front', () => expect(paretoFront([])).toEqual([]));
});
