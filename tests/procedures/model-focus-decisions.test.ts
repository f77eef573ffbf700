import { describe, expect, it } from 'vitest';
import { tryLimit } from '../../src/procedures/autofocus/model/try-limit.js';
import { widestGap } from '../../src/procedures/autofocus/model/widest-gap.js';

const limits = { powerMinDpt: -2, powerMaxDpt: 3 };

describe('widestGap', () => {
  it('closed form: a limit is as far as it is away, a middle half as far as its neighbours are apart', () => {
    expect(widestGap([0.5], limits)).toEqual({ toDpt: -2, gapDpt: 2.5 });
    expect(widestGap([3, -2], limits)).toEqual({ toDpt: 0.5, gapDpt: 2.5 });
    expect(widestGap([-2, 3, 0.5], limits).gapDpt).toBe(1.25);
  });
});

describe('tryLimit', () => {
  const beyond = (focalPowerDpt: number) => ({
    focalPowerDpt,
    focalPowerStdDpt: 0.01,
    blurRadiusPerDptPx: 10,
    sphericalWaves: 0,
    asymmetryPerDpt: 0,
    halfWidthDpt: 0.1,
    probabilityInFocus: 0.5,
  });
  const judged = (focalPowerDpt: number, commandedDpt: number[], measures: number[]) =>
    tryLimit({ estimate: beyond(focalPowerDpt), limits, commandedDpt, measures });

  it('closed form: first the limit is looked at, then two half-widths inward from it', () => {
    expect(judged(3.4, [0.5, 2.9], [1, 2])).toEqual({ kind: 'look', focalPowerDpt: 3 });
    expect(judged(3.4, [0.5, 3], [1, 2])).toEqual({ kind: 'look', focalPowerDpt: 2.8 });
    expect(judged(-2.3, [0.5, -2], [1, 2])).toEqual({ kind: 'look', focalPowerDpt: -1.8 });
  });

  it('closed form: best focus lies beyond the limit only where no other frame is as sharp', () => {
    expect(judged(3.4, [0.5, 3, 2.8], [1, 3, 2]).kind).toBe('sharpest');
    expect(judged(3.4, [0.5, 3, 2.8], [1, 2, 3]).kind).toBe('mistaken');
    expect(judged(-2.3, [-2, -1.8, 0], [2, 2, 1]).kind).toBe('mistaken');
  });
});
