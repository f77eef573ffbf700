import { describe, expect, it } from 'vitest';
import { type ParkAttempt, parkWithinTime } from '../../src/drivers/genicam/park-within-time.js';
import { virtualClock } from '../../src/twin/index.js';

/** Attempts that end as listed, the last of them again and again; an error is thrown. Returns when they were begun. */
async function attempts(...ends: readonly (ParkAttempt | Error)[]): Promise<number[]> {
  const clock = virtualClock();
  const begunMs: number[] = [];
  await parkWithinTime({
    clock,
    async attempt() {
      const end = ends[Math.min(begunMs.length, ends.length - 1)]!;
      begunMs.push(clock.nowMs());
      if (end instanceof Error) throw end;
      return end;
    },
  });
  return begunMs;
}

describe('parking by the watch', () => {
  it('property: an error of any kind is tried over until the lens is parked', async () => {
    expect(await attempts(new TypeError('unknown'), new RangeError('odd'), 'failed', 'settled')).toEqual([
      0, 250, 500, 750,
    ]);
  });

  it('property: what never ends well is given up after 20 s, a camera that another program keeps after 6 s', async () => {
    expect((await attempts(new Error('always'))).at(-1)).toBe(19_750);
    expect((await attempts('failed')).at(-1)).toBe(19_750);
    expect((await attempts('in-use')).at(-1)).toBe(6250);
    // In use, silent, and in use again: counted anew.
    expect((await attempts('in-use', 'in-use', 'failed', 'in-use')).at(-1)).toBe(7000);
  });

  it('degenerate: what is settled at once is tried once', async () => {
    expect(await attempts('settled')).toEqual([0]);
  });
});
