import { FocuswrightError } from './errors.js';

/** The part of an AbortSignal that pure code needs: asked between steps, never waited for. */
export interface CancelSignal {
  readonly aborted: boolean;
}

/** A signal that never cancels. */
export const neverCancelled: CancelSignal = { aborted: false };

/** Throws the catalogue error `cancelled` when the signal is set. Call it between the steps of long work. */
export function throwIfCancelled(signal: CancelSignal, during: string): void {
  if (signal.aborted) throw new FocuswrightError('cancelled', { during });
}
