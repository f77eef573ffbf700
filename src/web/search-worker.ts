import './without-eval.js';
import {
  finishedSearch,
  type SearchSlice,
  type SearchSpace,
  type SliceProgress,
  type SliceResult,
  searchSlice,
} from '../planning/index.js';
import type { SearchRecord } from '../station/index.js';

/** What the page asks of a thread: one slice of a search, or to put all slices together. */
export type SearchOrder =
  | { type: 'slice'; space: SearchSpace; slice: SearchSlice }
  | { type: 'record'; space: SearchSpace; slices: SliceResult[] };

/** What a thread answers. */
export type SearchAnswer =
  | { type: 'progress'; progress: SliceProgress }
  | { type: 'slice'; result: SliceResult }
  | { type: 'record'; record: SearchRecord };

const answer = (message: SearchAnswer) => postMessage(message);

addEventListener('message', ({ data }: MessageEvent<SearchOrder>) => {
  const { space } = data;
  if (data.type === 'slice') {
    const onProgress = (progress: SliceProgress) => answer({ type: 'progress', progress });
    answer({ type: 'slice', result: searchSlice(space, data.slice, { onProgress }) });
    return;
  }
  answer({ type: 'record', record: finishedSearch({ space, slices: data.slices, softwareVersion: '' }) });
});
