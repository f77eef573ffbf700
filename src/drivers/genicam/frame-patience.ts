/** How long a frame may wait for its missing packets. */
export interface FramePatience {
  readonly waitMs: number;
  /** Notes what became of a frame; true where the wait is another one now. */
  note(frame: { isWhole: boolean }): boolean;
}

const leastWaitMs = 100;
const mostWaitMs = 1600;

/**
 * Waits longer after a frame that did not become whole, and shorter again after whole ones.
 *
 * Model    twice as long after each frame with missing packets, half as long after each whole one, within 100 … 1600 ms. A machine
 *          with other work to do may hold the sender, or this process, for longer than any packet takes on its way; where packets
 *          are lost for good, whole frames between keep the wait short.
 */
export function framePatience(): FramePatience {
  let waitMs = leastWaitMs;
  return {
    get waitMs() {
      return waitMs;
    },
    note({ isWhole }) {
      const before = waitMs;
      waitMs = isWhole ? Math.max(leastWaitMs, waitMs / 2) : Math.min(mostWaitMs, waitMs * 2);
      return waitMs !== before;
    },
  };
}
