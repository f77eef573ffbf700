import { describe, expect, it } from 'vitest';
import { framePatience } from '../../src/drivers/genicam/frame-patience.js';

describe('patience with torn frames', () => {
  it('closed form: twice as long after each torn frame, half after each whole one, within 100 … 1600 ms', () => {
    const patience = framePatience();
    const waits = (wholes: readonly boolean[]) =>
      wholes.map((isWhole) => [patience.note({ isWhole }), patience.waitMs]);
    expect(waits([true, false, false, true])).toEqual([
      [false, 100],
      [true, 200],
      [true, 400],
      [true, 200],
    ]);
    expect(waits(Array(6).fill(false)).at(-1)).toEqual([false, 1600]);
    expect(waits(Array(6).fill(true)).at(-1)).toEqual([false, 100]);
  });
});
