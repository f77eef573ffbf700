/**
 * Time as a dependency. Real drivers get the machine's clock, the simulated station its own virtual one, on which
 * `sleep` returns at once and moves time forward: nothing in a procedure may know the difference.
 */
export interface Clock {
  /** Milliseconds since an arbitrary start; never goes back. */
  nowMs(): number;
  /** Resolves when `durationMs` have passed on this clock. */
  sleep(durationMs: number): Promise<void>;
}
