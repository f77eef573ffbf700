import { describe, expect, it } from 'vitest';
import { nextPlayDpt } from '../../../src/twin/lens/play-operator.js';

const run = (inputs: number[], widthDpt: number, startDpt = 0) => {
  let output = startDpt;
  return inputs.map((inputDpt) => (output = nextPlayDpt({ previousDpt: output, inputDpt, widthDpt })));
};

describe('play operator', () => {
  it('closed form: after rising the output lies half the width below the input, after falling above it', () => {
    expect(run([1, 2, 3], 0.2)).toEqual([0.9, 1.9, 2.9]);
    expect(run([-1, -2], 0.2)).toEqual([-0.9, -1.9]);
  });

  it('closed form: a turn shorter than the width moves nothing', () => {
    expect(run([1, 0.85, 0.95], 0.2)).toEqual([0.9, 0.9, 0.9]);
  });

  it('property: the loop closes after a full cycle', () => {
    const [, , first] = run([2, -2, 2], 0.3);
    const [, , , , again] = run([2, -2, 2, -2, 2], 0.3);
    expect(again).toBe(first);
  });

  it('degenerate: without width the output is the input', () => {
    expect(run([0.3, -1, 4], 0)).toEqual([0.3, -1, 4]);
  });
});
