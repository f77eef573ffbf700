import { describe, expect, it } from 'vitest';
import { slavedClock } from '../../src/twin/index.js';

/** A wall clock that the test moves. Waiting ends when it is moved far enough, however far. */
function testWall() {
  const waiting: { atMs: number; resolve: () => void }[] = [];
  let nowMs = 0;
  return {
    wallMs: () => nowMs,
    wait: (durationMs: number) => new Promise<void>((resolve) => waiting.push({ atMs: nowMs + durationMs, resolve })),
    async moveTo(atMs: number) {
      nowMs = atMs;
      for (const sleeper of waiting.splice(0)) {
        if (sleeper.atMs <= nowMs) sleeper.resolve();
        else waiting.push(sleeper);
      }
      await new Promise((resolve) => setImmediate(resolve));
    },
  };
}

describe('slaved clock', () => {
  it('closed form: a sleeper that the machine wakes late wakes at its own time', async () => {
    const wall = testWall();
    const clock = slavedClock(wall);
    const woken: number[] = [];
    void clock.sleep(10).then(() => woken.push(clock.nowMs()));
    await wall.moveTo(9.9);
    expect(woken).toEqual([]);
    await wall.moveTo(35);
    expect(woken).toEqual([10]);
  });

  it('closed form: sleeps after a delay are caught up without waiting', async () => {
    const wall = testWall();
    const clock = slavedClock(wall);
    await wall.moveTo(100);
    for (let i = 0; i < 5; i++) await clock.sleep(20);
    expect(clock.nowMs()).toBe(100);
  });

  it('property: catching up never goes back', () => {
    const clock = slavedClock(testWall());
    clock.catchUp(50);
    clock.catchUp(20);
    expect(clock.nowMs()).toBe(50);
  });

  it('refuses a duration that is negative or no number', async () => {
    const clock = slavedClock(testWall());
    await expect(clock.sleep(-1)).rejects.toThrow(/durationMs is -1 ms/);
    await expect(clock.sleep(Number.NaN)).rejects.toThrow(RangeError);
  });
});
