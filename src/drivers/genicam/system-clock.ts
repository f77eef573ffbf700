import type { Clock } from '../../base/index.js';

/** The machine's clock: milliseconds since the process began, never going back. */
export const systemClock: Clock = {
  nowMs: () => performance.now(),
  sleep: (durationMs) => new Promise((resolve) => setTimeout(resolve, Math.max(0, durationMs))),
};

/** A wall-clock time in milliseconds, on the machine's clock above. */
export const onSystemClock = (wallTimeMs: number): number => wallTimeMs - (Date.now() - performance.now());
