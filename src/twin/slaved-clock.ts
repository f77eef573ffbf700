import { type Clock, requireNumber } from '../base/index.js';

/** A station's clock that keeps up with the wall clock. */
export interface SlavedClock extends Clock {
  /** Moves to a time of the wall clock that has come; never back. */
  catchUp(toMs: number): void;
}

/**
 * The station's time slaved to the wall clock: it moves by what happens, each thing at its own time and none before the
 * wall clock has come there.
 *
 * Model    `sleep` ends at exactly the time asked for, however late the machine wakes; so a busy machine delays frames but
 *          does not change what they show
 * Input    `wallMs`: the wall clock; `wait`: resolves when so many milliseconds have passed on it, or a little later
 * Throws   RangeError if a duration is negative or not finite.
 * Checked  closed form: late waking, tests/twin/slaved-clock.test.ts
 */
export function slavedClock({
  wallMs,
  wait,
}: {
  wallMs: () => number;
  wait: (durationMs: number) => Promise<void>;
}): SlavedClock {
  let nowMs = wallMs();
  const catchUp = (toMs: number) => {
    nowMs = Math.max(nowMs, toMs);
  };
  return {
    nowMs: () => nowMs,
    catchUp,
    async sleep(durationMs) {
      requireNumber('durationMs', durationMs, { min: 0, unit: 'ms' });
      const wakeAtMs = nowMs + durationMs;
      const restMs = wakeAtMs - wallMs();
      if (restMs > 0) await wait(restMs);
      catchUp(wakeAtMs);
    },
  };
}
