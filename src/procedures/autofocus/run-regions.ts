import type { Region } from '../../image/index.js';
import type { AutofocusResult, FocusFound } from '../../station/index.js';
import { returnToPower } from './return-to-power.js';
import { type FocusSearchRequest, runFocusSearch } from './run-search.js';

/** Which of several regions the lens is to stay at: the nearest to the camera, the farthest, or none of them alone. */
export const regionChoices = ['nearest', 'farthest', 'each'] as const;
export type RegionChoice = (typeof regionChoices)[number];

/** What a search over several regions ended with. */
export interface RegionsResult {
  choice: RegionChoice;
  /** One for each region, in the given order. */
  results: AutofocusResult[];
  /** The region that the lens stays at; null: none was found, or each counts alone. */
  chosenIndex: number | null;
}

/**
 * Best focus of several regions, one after the other, and the lens at the chosen one.
 *
 * Model    each region has a search of its own; a higher focal power focuses nearer. With `each` the lens is parked at the
 *          end: no one power serves all. A refused region is no candidate
 * Throws   as runFocusSearch; RangeError without regions.
 * Trust    the part must stand still for all of it.
 */
export async function runFocusRegions(
  request: Omit<FocusSearchRequest, 'region'> & { regions: readonly Region[]; choice: RegionChoice },
): Promise<RegionsResult> {
  const { regions, choice, ...search } = request;
  if (regions.length === 0) throw new RangeError('regions is empty; allowed: at least one');
  const results: AutofocusResult[] = [];
  for (const region of regions) results.push(await runFocusSearch({ ...search, region, park: false }));
  const chosenIndex = choose(results, choice);
  const chosen = chosenIndex === null ? null : (results[chosenIndex] as FocusFound);
  if (chosen === null || request.park) await request.camera.park();
  else if (chosenIndex !== results.length - 1) await returnToPower(request, chosen);
  return { choice, results, chosenIndex };
}

function choose(results: readonly AutofocusResult[], choice: RegionChoice): number | null {
  if (choice === 'each' && results.length > 1) return null;
  const sign = choice === 'farthest' ? -1 : 1;
  return results.reduce<number | null>((best, result, index) => {
    if (result.kind === 'refused') return best;
    const champion = best === null ? null : (results[best] as FocusFound);
    return champion === null || sign * (result.focalPowerDpt - champion.focalPowerDpt) > 0 ? index : best;
  }, null);
}
