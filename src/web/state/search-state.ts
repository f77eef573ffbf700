import { create } from 'zustand';
import { FocuswrightError } from '../../base/index.js';
import { combinationCount, type SliceProgress, searchSpaceOf } from '../../planning/index.js';
import { type PartsLibrary, type SearchRecord, type Station, searchTaskOfStation } from '../../station/index.js';
import { type SearchThreads, searchInThreads } from './search-threads.js';
import { ServerError, server } from './server.js';

/** The layout search of the page: one at a time; its result stays until the next one. */
export interface SearchState {
  parts: PartsLibrary | null;
  running: { progress: SliceProgress; combinationCount: number } | null;
  record: SearchRecord | null;
  /** The task that `record` answers, to tell whether it has changed since. */
  searchedTask: Station['task'] | null;
  trouble: string | null;
  loadParts(): Promise<void>;
  start(station: Station): void;
  cancel(): void;
}

let threads: SearchThreads | null = null;

export const useSearch = create<SearchState>((set, get) => ({
  parts: null,
  running: null,
  record: null,
  searchedTask: null,
  trouble: null,
  async loadParts() {
    if (get().parts) return;
    await server.parts().then(
      (parts) => set({ parts, trouble: null }),
      (error: unknown) => set({ trouble: inWords(error) }),
    );
  },
  start(station) {
    const { parts } = get();
    if (!parts) return;
    try {
      const space = searchSpaceOf({ task: searchTaskOfStation(station), parts });
      const count = combinationCount(space);
      const progress = { pairsDone: 0, pairsTotal: parts.fixedLenses.length * parts.tunableLenses.length };
      set({ running: { progress, combinationCount: count }, trouble: null });
      threads = searchInThreads(space, (now) => set({ running: { progress: now, combinationCount: count } }));
      threads.record.then(
        (record) => set({ record, searchedTask: station.task, running: null }),
        (error: unknown) => set({ running: null, trouble: inWords(error) }),
      );
    } catch (error) {
      set({ running: null, trouble: inWords(error) });
    }
  },
  cancel() {
    threads?.cancel();
    set({ running: null });
  },
}));

function inWords(error: unknown): string {
  if (error instanceof ServerError || error instanceof FocuswrightError) return `${error.message} ${error.remedy}`;
  return error instanceof Error ? error.message : String(error);
}
