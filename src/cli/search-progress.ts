import { Presets, SingleBar } from 'cli-progress';
import type { SliceProgress } from '../planning/index.js';

/** Shows a search on standard error: a bar on a terminal, a line for each quarter elsewhere. */
export function searchProgressOnStderr(): { show(progress: SliceProgress): void; stop(): void } {
  if (!process.stderr.isTTY) {
    let quarters = 0;
    return {
      show({ pairsDone, pairsTotal }) {
        const now = Math.floor((4 * pairsDone) / pairsTotal);
        if (now > quarters) process.stderr.write(`search: ${25 * now} % of ${pairsTotal} pairs of lenses\n`);
        quarters = Math.max(quarters, now);
      },
      stop() {},
    };
  }
  const bar = new SingleBar(
    {
      format: '{bar} {value}/{total} pairs of lenses, {eta} s to go',
      stream: process.stderr,
      hideCursor: true,
      clearOnComplete: true,
      gracefulExit: false,
    },
    Presets.shades_classic,
  );
  let started = false;
  return {
    show({ pairsDone, pairsTotal }) {
      if (!started) bar.start(pairsTotal, 0);
      started = true;
      bar.setTotal(pairsTotal);
      bar.update(pairsDone);
    },
    stop() {
      if (started) bar.stop();
      started = false;
    },
  };
}
