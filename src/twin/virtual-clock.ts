import { type Clock, requireNumber } from '../base/index.js';

interface Sleeper {
  wakeAtMs: number;
  order: number;
  wake: () => void;
}

/** Promise turns that a woken sleeper gets before time moves on, so that what it does next is not overtaken. */
const turnsBeforeNextWake = 64;

/**
 * A clock of its own: sleeping costs no time in the world outside and moves this clock at once.
 *
 * Model    sleepers wake in order of their time, equal times in the order they fell asleep; time stands still while code
 *          runs between two sleeps
 * Throws   RangeError if a duration is negative or not finite.
 * Trust    a task that awaits something else than this clock (a file) for more than 64 promise turns may be overtaken.
 * Checked  property: three sleepers interleave in order, tests/twin/virtual-clock.test.ts
 */
export function virtualClock(): Clock {
  const sleepers: Sleeper[] = [];
  let nowMs = 0;
  let order = 0;
  let waking = false;

  async function wakeInTurn(): Promise<void> {
    waking = true;
    while (sleepers.length > 0) {
      for (let turn = 0; turn < turnsBeforeNextWake; turn++) await undefined;
      sleepers.sort((a, b) => a.wakeAtMs - b.wakeAtMs || a.order - b.order);
      const next = sleepers.shift()!;
      nowMs = Math.max(nowMs, next.wakeAtMs);
      next.wake();
    }
    waking = false;
  }

  return {
    nowMs: () => nowMs,
    sleep(durationMs) {
      requireNumber('durationMs', durationMs, { min: 0, unit: 'ms' });
      return new Promise((wake) => {
        sleepers.push({ wakeAtMs: nowMs + durationMs, order: order++, wake });
        if (!waking) void wakeInTurn();
      });
    },
  };
}
