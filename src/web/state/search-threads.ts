import type { SearchSpace, SliceProgress, SliceResult } from '../../planning/index.js';
import type { SearchRecord } from '../../station/index.js';
import type { SearchAnswer, SearchOrder } from '../search-worker.js';

/** A search that runs beside the page. */
export interface SearchThreads {
  record: Promise<SearchRecord>;
  /** Ends the threads at once; `record` then never resolves. */
  cancel(): void;
}

/** More threads than this gain little and keep the machine from everything else. */
const threadsMaxCount = 4;

/** Searches a space in as many threads as the machine has cores, up to four. */
export function searchInThreads(space: SearchSpace, onProgress: (progress: SliceProgress) => void): SearchThreads {
  const sliceCount = Math.max(1, Math.min(threadsMaxCount, navigator.hardwareConcurrency));
  const threads = Array.from(
    { length: sliceCount },
    () => new Worker(new URL('../search-worker.ts', import.meta.url), { type: 'module' }),
  );
  const done = threads.map((): SliceProgress => ({ pairsDone: 0, pairsTotal: 0 }));
  const sum = (key: keyof SliceProgress) => done.reduce((total, slice) => total + slice[key], 0);
  const cancel = () => {
    for (const thread of threads) thread.terminate();
  };
  const sliceOf = (thread: Worker, sliceIndex: number) =>
    ask<SliceResult>(thread, { type: 'slice', space, slice: { sliceIndex, sliceCount } }, (message, end) => {
      if (message.type === 'slice') end(message.result);
      if (message.type !== 'progress') return;
      done[sliceIndex] = message.progress;
      onProgress({ pairsDone: sum('pairsDone'), pairsTotal: sum('pairsTotal') });
    });
  const record = Promise.all(threads.map(sliceOf))
    .then((slices) =>
      ask<SearchRecord>(threads[0]!, { type: 'record', space, slices }, (message, end) => {
        if (message.type === 'record') end(message.record);
      }),
    )
    .finally(cancel);
  return { record, cancel };
}

function ask<T>(
  thread: Worker,
  order: SearchOrder,
  answered: (message: SearchAnswer, end: (value: T) => void) => void,
): Promise<T> {
  return new Promise((resolve, reject) => {
    thread.onmessage = ({ data }: MessageEvent<SearchAnswer>) => answered(data, resolve);
    thread.onerror = (event) => reject(new Error(event.message));
    thread.postMessage(order);
  });
}
