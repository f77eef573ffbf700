import { Presets, SingleBar } from 'cli-progress';

/** A bar on a terminal's standard error that starts with the first value shown. */
export interface StderrBar {
  show(done: number, total: number, payload?: Record<string, string>): void;
  stop(): void;
}

/** Null where standard error is no terminal: then lines take its place, or nothing. */
export function stderrBar(format: string): StderrBar | null {
  if (!process.stderr.isTTY) return null;
  const bar = new SingleBar(
    { format, stream: process.stderr, hideCursor: true, clearOnComplete: true, gracefulExit: false },
    Presets.shades_classic,
  );
  let started = false;
  return {
    show(done, total, payload) {
      if (!started) bar.start(total, done, payload);
      started = true;
      bar.setTotal(total);
      bar.update(done, payload);
    },
    stop() {
      if (started) bar.stop();
      started = false;
    },
  };
}
