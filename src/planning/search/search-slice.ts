import { type CancelSignal, neverCancelled, requireNumber, throwIfCancelled } from '../../base/index.js';
import { type FoundLayout, searchPair } from './search-pair.js';
import type { SearchSpace } from './search-space.js';
import { type SearchCounts, type SearchStandings, SearchTally } from './search-tally.js';

/** A share of the pairs of lenses: every `sliceCount`-th one, beginning with `sliceIndex`. */
export interface SearchSlice {
  sliceIndex: number;
  sliceCount: number;
}

/** What a slice found; plain data, so that it may come from another thread. */
export interface SliceResult {
  found: FoundLayout[];
  counts: SearchCounts;
  predictionCount: number;
  standings: SearchStandings;
}

/** How far a slice is: pairs of lenses done, of all that it has. */
export interface SliceProgress {
  pairsDone: number;
  pairsTotal: number;
}

/**
 * Searches one slice of the space; the slices together search all of it, each thread one.
 *
 * Input    `least`: smallest margin that a layout may have; 0 for layouts that meet the task
 * Throws   FocuswrightError `cancelled` when the signal is set, asked between pairs of lenses; RangeError for a slice that
 *          there is not.
 * Cost     some 10 ns a combination where most miss early, a full prediction (about a millisecond) for a few of each
 *          choice of parts that meets the task
 * Checked  property: the same ranked list as trying every combination, tests/planning/search/brute-force.test.ts
 */
export function searchSlice(
  space: SearchSpace,
  { sliceIndex, sliceCount }: SearchSlice,
  {
    least = 0,
    onProgress,
    signal = neverCancelled,
  }: { least?: number; onProgress?: (progress: SliceProgress) => void; signal?: CancelSignal } = {},
): SliceResult {
  requireNumber('sliceCount', sliceCount, { min: 1 });
  requireNumber('sliceIndex', sliceIndex, { min: 0, max: sliceCount - 1 });
  const { fixedLenses, tunableLenses } = space.parts;
  const pairCount = fixedLenses.length * tunableLenses.length;
  const pairsTotal = Math.ceil((pairCount - sliceIndex) / sliceCount);
  const tally = new SearchTally(space);
  const found: FoundLayout[] = [];
  for (let pair = sliceIndex, pairsDone = 0; pair < pairCount; pair += sliceCount) {
    throwIfCancelled(signal, 'layout search');
    found.push(
      ...searchPair({
        space,
        fixedLensIndex: Math.floor(pair / tunableLenses.length),
        tunableLensIndex: pair % tunableLenses.length,
        least,
        tally,
      }),
    );
    pairsDone++;
    onProgress?.({ pairsDone, pairsTotal });
  }
  return { found, counts: tally.counts, predictionCount: tally.predictionCount, standings: tally.standings };
}
