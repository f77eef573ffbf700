import { describe, expect, it } from 'vitest';
import { virtualClock } from '../../src/twin/index.js';

describe('virtual clock', () => {
  it('property: sleeping moves time by the duration, at once', async () => {
    const clock = virtualClock();
    await clock.sleep(3_600_000);
    await clock.sleep(0.25);
    expect(clock.nowMs()).toBe(3_600_000.25);
  });

  it('property: concurrent sleepers wake in the order of their times, each at its own time', async () => {
    const clock = virtualClock();
    const log: string[] = [];
    const sleeper = async (name: string, durationMs: number, times: number) => {
      for (let i = 0; i < times; i++) {
        await clock.sleep(durationMs);
        log.push(`${name}${clock.nowMs()}`);
      }
    };
    await Promise.all([sleeper('a', 10, 3), sleeper('b', 25, 1), sleeper('c', 10, 1)]);
    expect(log).toEqual(['a10', 'c10', 'a20', 'b25', 'a30']);
  });

  it('property: what a woken sleeper does after several awaits is not overtaken', async () => {
    const clock = virtualClock();
    const log: number[] = [];
    const deep = async () => {
      await clock.sleep(1);
      for (let i = 0; i < 20; i++) await Promise.resolve();
      await clock.sleep(1);
      log.push(clock.nowMs());
    };
    const late = async () => {
      await clock.sleep(50);
      log.push(clock.nowMs());
    };
    await Promise.all([deep(), late()]);
    expect(log).toEqual([2, 50]);
  });

  it('refuses durations that are negative or not finite', () => {
    expect(() => virtualClock().sleep(-1)).toThrow(/durationMs is -1 ms/);
    expect(() => virtualClock().sleep(Number.NaN)).toThrow(RangeError);
  });
});
