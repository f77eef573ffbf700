import { Worker } from 'node:worker_threads';
import { type CancelSignal, FocuswrightError, neverCancelled } from '../base/index.js';
import {
  finishedSearch,
  type SearchSlice,
  type SearchSpace,
  type SliceProgress,
  type SliceResult,
  searchSlice,
} from '../planning/index.js';
import type { SearchRecord } from '../station/index.js';
import { softwareVersion } from './version.js';

/** What a thread of the search is told. */
export interface ThreadOrder {
  space: SearchSpace;
  slice: SearchSlice;
}

/** What a thread of the search tells. */
export type ThreadMessage = { type: 'progress'; progress: SliceProgress } | { type: 'done'; result: SliceResult };

/** How often a set cancel signal is looked for while threads work. */
const cancelPollMs = 50;

/**
 * Searches a space in several threads, and the nearest misses where nothing meets the task.
 *
 * Input    `threadCount`: 1 searches in the calling thread, without progress between its pairs of lenses
 * Throws   `cancelled`.
 */
export async function runSearch({
  space,
  threadCount,
  onProgress,
  signal = neverCancelled,
}: {
  space: SearchSpace;
  threadCount: number;
  onProgress?: (progress: SliceProgress) => void;
  signal?: CancelSignal;
}): Promise<SearchRecord> {
  const done = Array.from({ length: threadCount }, (): SliceProgress => ({ pairsDone: 0, pairsTotal: 0 }));
  const told = (sliceIndex: number) => (progress: SliceProgress) => {
    done[sliceIndex] = progress;
    const sum = (key: keyof SliceProgress) => done.reduce((total, slice) => total + slice[key], 0);
    onProgress?.({ pairsDone: sum('pairsDone'), pairsTotal: sum('pairsTotal') });
  };
  const slices = await Promise.all(
    done.map((_, sliceIndex) => {
      const order = { space, slice: { sliceIndex, sliceCount: threadCount } };
      return threadCount === 1
        ? searchSlice(space, order.slice, { onProgress: told(sliceIndex), signal })
        : sliceInThread(order, told(sliceIndex), signal);
    }),
  );
  return finishedSearch({ space, slices, softwareVersion, signal });
}

function sliceInThread(
  order: ThreadOrder,
  tell: (progress: SliceProgress) => void,
  signal: CancelSignal,
): Promise<SliceResult> {
  const thread = new Worker(new URL('./search-thread.js', import.meta.url), { workerData: order });
  return new Promise((resolve, reject) => {
    const poll = setInterval(() => {
      if (!signal.aborted) return;
      end();
      reject(new FocuswrightError('cancelled', { during: 'layout search' }, { remedy: 'Start again when ready.' }));
    }, cancelPollMs);
    const end = () => {
      clearInterval(poll);
      void thread.terminate();
    };
    thread.on('message', (message: ThreadMessage) => {
      if (message.type === 'progress') return tell(message.progress);
      end();
      resolve(message.result);
    });
    thread.on('error', (error) => {
      end();
      reject(error);
    });
  });
}
