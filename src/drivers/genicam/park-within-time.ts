import type { Clock } from '../../base/index.js';

/** What came of one attempt to park: done or another's business, the camera is in use, or it could not be done now. */
export type ParkAttempt = 'settled' | 'in-use' | 'failed';

/** How long a camera that does not answer, or an attempt that fails, is tried again. */
const triesWithinMs = 20_000;
const betweenTriesMs = 250;
/** A camera keeps its control for a program that has gone until its heartbeat (3 s) has lapsed; after that another has it. */
const ownControlEndsWithinMs = 6000;

/**
 * Attempts to park until it is settled, another program has the camera for good, or the time is up.
 *
 * Model    an attempt that throws is one that failed: whatever the reason, the lens may stand under current, so it is tried again
 * Checked  property: tests/drivers/park-within-time.test.ts
 */
export async function parkWithinTime({
  attempt,
  clock,
}: {
  attempt: () => Promise<ParkAttempt>;
  clock: Clock;
}): Promise<void> {
  const untilMs = clock.nowMs() + triesWithinMs;
  let inUseSinceMs: number | null = null;
  while (clock.nowMs() < untilMs) {
    const met = await attempt().catch((): ParkAttempt => 'failed');
    if (met === 'settled') return;
    inUseSinceMs = met === 'in-use' ? (inUseSinceMs ?? clock.nowMs()) : null;
    // Another program answers for the lens.
    if (inUseSinceMs !== null && clock.nowMs() - inUseSinceMs > ownControlEndsWithinMs) return;
    await clock.sleep(betweenTriesMs);
  }
}
