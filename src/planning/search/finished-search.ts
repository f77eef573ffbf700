import { type CancelSignal, neverCancelled } from '../../base/index.js';
import type { SearchRecord } from '../../station/index.js';
import { searchNearestMisses } from './nearest-misses.js';
import { searchRecordOf } from './search-record.js';
import type { SliceResult } from './search-slice.js';
import type { SearchSpace } from './search-space.js';

/**
 * The record of a search whose slices are done; where nothing meets the task, with the nearest misses.
 *
 * Throws   `cancelled`.
 */
export function finishedSearch({
  space,
  slices,
  softwareVersion,
  signal = neverCancelled,
}: {
  space: SearchSpace;
  slices: readonly SliceResult[];
  softwareVersion: string;
  signal?: CancelSignal;
}): SearchRecord {
  const met = slices.some(({ found }) => found.length > 0);
  const nearestMisses = met ? [] : [searchNearestMisses(space, { signal })];
  return searchRecordOf({ space, slices, nearestMisses, softwareVersion });
}
