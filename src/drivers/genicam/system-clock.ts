import type { Clock } from '../../base/index.js';

/** The machine's clock: milliseconds since the process began, never going back. */
export const systemClock: Clock = {
  nowMs: () => performance.now(),
  async sleep(durationMs) {
    const untilMs = performance.now() + durationMs;
    // A timer may end a fraction of a millisecond early.
    do {
      await new Promise((resolve) => setTimeout(resolve, untilMs - performance.now()));
    } while (performance.now() < untilMs);
  },
};

/** A wall-clock time in milliseconds, on the machine's clock above. */
export const onSystemClock = (wallTimeMs: number): number => wallTimeMs - (Date.now() - performance.now());
