import type { CancelSignal } from '../base/index.js';

/** Turns Ctrl-C (and a polite kill) into a cancel signal. A second Ctrl-C ends the program as usual. */
export function cancelOnInterrupt(doing = 'cancelling; the lens is parked and what was measured is saved …'): {
  signal: CancelSignal;
  release(): void;
} {
  const controller = new AbortController();
  const cancel = () => {
    process.stderr.write(`\nfocuswright: ${doing}\n`);
    controller.abort();
    release();
  };
  const release = () => {
    process.removeListener('SIGINT', cancel);
    process.removeListener('SIGTERM', cancel);
  };
  process.on('SIGINT', cancel);
  process.on('SIGTERM', cancel);
  return { signal: controller.signal, release };
}
