import type { CancelSignal } from '../../base/index.js';
import { type SliceProgress, type SliceResult, searchSlice } from './search-slice.js';
import type { SearchSpace } from './search-space.js';

/** How far layouts may miss, tried one after the other. */
const lowered = [-0.1, -0.3, -0.6, -1];

/**
 * The layouts that come nearest to a task that none meets: the first steps down at which any layout is found.
 *
 * Returns  a result without layouts where all of them miss a requirement by more than its whole limit
 */
export function searchNearestMisses(
  space: SearchSpace,
  options: { onProgress?: (progress: SliceProgress) => void; signal?: CancelSignal } = {},
): SliceResult {
  let result: SliceResult | null = null;
  for (const least of lowered) {
    result = searchSlice(space, { sliceIndex: 0, sliceCount: 1 }, { ...options, least });
    if (result.found.length > 0) break;
  }
  return result!;
}
