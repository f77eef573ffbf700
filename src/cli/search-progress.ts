import type { SliceProgress } from '../planning/index.js';
import { stderrBar } from './stderr-bar.js';

/** Shows a search on standard error: a bar on a terminal, a line for each quarter elsewhere. */
export function searchProgressOnStderr(): { show(progress: SliceProgress): void; stop(): void } {
  const bar = stderrBar('{bar} {value}/{total} pairs of lenses, {eta} s to go');
  let quarters = 0;
  return {
    show({ pairsDone, pairsTotal }) {
      if (bar) return bar.show(pairsDone, pairsTotal);
      const now = Math.floor((4 * pairsDone) / pairsTotal);
      if (now > quarters) process.stderr.write(`search: ${25 * now} % of ${pairsTotal} pairs of lenses\n`);
      quarters = Math.max(quarters, now);
    },
    stop: () => bar?.stop(),
  };
}
