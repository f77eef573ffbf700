import type { LastResolved, ReadElement, SeriesElement } from './bar-reading.js';

/**
 * The finest element that is resolved and has no unresolved one, as far as they were found, before it.
 *
 * Model    coarse to fine for bars that run horizontally and vertically; `joint` asks both of one element. An element that was not found
 *          (cut off, covered) does not end the series: one found beyond it still counts.
 */
export function lastResolved(elements: readonly ReadElement[]): LastResolved {
  const places = new Map<number, ReadElement[]>();
  for (const element of elements) {
    const place = seriesIndex(element);
    places.set(place, [...(places.get(place) ?? []), element]);
  }
  const ordered = [...places.entries()].sort(([a], [b]) => a - b).map(([, list]) => list);
  const finest = (kinds: readonly ReadElement['barsRun'][]): SeriesElement | null => {
    let best: SeriesElement | null = null;
    for (const list of ordered) {
      const here = kinds.map((kind) => list.filter(({ barsRun }) => barsRun === kind));
      // Where an element was found twice, the better one counts.
      const resolved = here.map((found) => found.some((element) => element.resolved));
      if (here.some((found, i) => found.length > 0 && !resolved[i])) break;
      if (resolved.every(Boolean)) best = list[0]!;
    }
    return best && { group: best.group, element: best.element, lpPerMm: best.lpPerMm };
  };
  return {
    horizontal: finest(['horizontal']),
    vertical: finest(['vertical']),
    joint: finest(['horizontal', 'vertical']),
  };
}

/** Place in the series: 0 is group 0 element 1. */
export const seriesIndex = ({ group, element }: { group: number; element: number }): number => 6 * group + element - 1;
