import { Presets, SingleBar } from 'cli-progress';

/** Shows how many stations are built on standard error: a bar on a terminal, nothing elsewhere. */
export function countOnStderr(total: number): { show(doneCount: number): void; stop(): void } {
  if (!process.stderr.isTTY) return { show() {}, stop() {} };
  const bar = new SingleBar(
    {
      format: '{bar} {value}/{total} stations built',
      stream: process.stderr,
      hideCursor: true,
      clearOnComplete: true,
      gracefulExit: false,
    },
    Presets.shades_classic,
  );
  let started = false;
  return {
    show(doneCount) {
      if (!started) bar.start(total, 0);
      started = true;
      bar.update(doneCount);
    },
    stop() {
      if (started) bar.stop();
      started = false;
    },
  };
}
