import { describe, expect, it } from 'vitest';
import { liftDpt, possibleLiftsDpt, recentMoves, sideOf } from '../../../src/procedures/autofocus/lens-play.js';
import { nextPlayDpt } from '../../../src/twin/lens/play-operator.js';

const width = { widthDpt: 0.2 };

describe('where a lens with hysteresis stands after its moves', () => {
  it('closed form: full loop and inner loop', () => {
    const lift = (movesDpt: number[], startPart = 0) =>
      liftDpt({ movesDpt, startPart }, { widthDpt: 0.2, startPart: 0.9 });
    expect(lift([1])).toBe(0);
    expect(lift([1, -1])).toBe(0.2);
    expect(lift([-0.05])).toBeCloseTo(0.05, 12);
    expect(lift([-0.15, 0.1])).toBeCloseTo(0.05, 12);
    expect(lift([-0.15, 0.1, 0.1])).toBe(0);
    expect(lift([], 0.5)).toBeCloseTo(0.1, 12);
    expect(liftDpt({ movesDpt: [], startPart: null }, { widthDpt: 0.2, startPart: 0.9 })).toBeCloseTo(0.18, 12);
  });

  it('reference: the play operator of the simulated lens, over a walk', () => {
    let [commandDpt, outputDpt] = [0, 0 + 0.1];
    const movesDpt: number[] = [];
    for (const toDpt of [0.13, 0.05, -0.02, 0.3, 0.28, 0.41, 0.2, 0.27]) {
      movesDpt.push(toDpt - commandDpt);
      commandDpt = toDpt;
      outputDpt = nextPlayDpt({ previousDpt: outputDpt, inputDpt: commandDpt, widthDpt: 0.2 });
      // From below it stands half the width under its command.
      const lift = liftDpt({ movesDpt, startPart: 1 }, { widthDpt: 0.2, startPart: 0 });
      expect(lift, `at ${toDpt} dpt`).toBeCloseTo(outputDpt - (commandDpt - 0.1), 12);
    }
  });

  it('property: a side counts as taken only where a hysteresis 30 % wider would be taken up too', () => {
    const side = (movesDpt: number[], startPart: number | null = null) => sideOf({ movesDpt, startPart }, width);
    expect(side([0.25])).toBeNull();
    expect(side([0.27])).toBe('below');
    expect(side([-0.27])).toBe('above');
    expect(side([0.15, 0.12])).toBe('below');
    expect(side([0.27, -0.05])).toBeNull();
    expect(side([0.27, -0.05, 0.06])).toBe('below');
    expect(side([], 0)).toBe('below');
    expect(side([0.05], 0)).toBe('below');
  });

  it('degenerate: without hysteresis the last move tells the side', () => {
    const side = (movesDpt: number[], startPart: number | null = null) =>
      sideOf({ movesDpt, startPart }, { widthDpt: 0 });
    expect(side([0.1, -0.1])).toBe('above');
    expect(side([0.1])).toBe('below');
    expect(side([])).toBeNull();
    expect(side([], 1)).toBe('above');
  });

  it('property: what was before a long move is forgotten', () => {
    const moves = { movesDpt: [0.1, -0.5, 0.07], startPart: null };
    expect(recentMoves(moves, width)).toEqual({ movesDpt: [0.07], startPart: 1 });
    for (const startPart of [0, 0.4, 1]) {
      const guess = { widthDpt: 0.24, startPart };
      expect(liftDpt(recentMoves(moves, width), guess)).toBeCloseTo(liftDpt(moves, guess), 12);
    }
    expect(possibleLiftsDpt({ movesDpt: [], startPart: 0 }, width)).toEqual([0]);
    expect(Math.max(...possibleLiftsDpt({ movesDpt: [], startPart: null }, width))).toBeCloseTo(0.25, 12);
  });
});
