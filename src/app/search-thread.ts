import { parentPort, workerData } from 'node:worker_threads';
import { searchSlice } from '../planning/index.js';
import type { ThreadMessage, ThreadOrder } from './run-search.js';

// One thread of a search: does its slice, tells how far it is, hands over what it found.
const { space, slice } = workerData as ThreadOrder;
const tell = (message: ThreadMessage) => parentPort!.postMessage(message);
tell({
  type: 'done',
  result: searchSlice(space, slice, { onProgress: (progress) => tell({ type: 'progress', progress }) }),
});
