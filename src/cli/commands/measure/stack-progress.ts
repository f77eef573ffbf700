import { Presets, SingleBar } from 'cli-progress';
import type { StackProgress } from '../../../app/index.js';

/** Shows how far a stack is on standard error: a bar on a terminal, nothing elsewhere. */
export function stackProgressOnStderr(): { show(progress: StackProgress): void; stop(): void } {
  if (!process.stderr.isTTY) return { show() {}, stop() {} };
  const format = '{bar} {value}/{total}  {doing}';
  const bar = new SingleBar(
    { format, stream: process.stderr, hideCursor: true, clearOnComplete: true, gracefulExit: false },
    Presets.shades_classic,
  );
  let started = false;
  return {
    show({ done, total, doing }) {
      if (!started) bar.start(total, done, { doing });
      started = true;
      bar.update(done, { doing });
    },
    stop() {
      if (started) bar.stop();
      started = false;
    },
  };
}
