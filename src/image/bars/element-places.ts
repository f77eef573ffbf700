import type { ReadElement } from './bar-reading.js';
import type { FoundTriplet } from './find-triplets.js';

/** Across near the rows: the bars run down them. */
export const barsRun = ({ place }: FoundTriplet): ReadElement['barsRun'] =>
  Math.abs(Math.cos(place.acrossRad)) > Math.SQRT1_2 ? 'vertical' : 'horizontal';

/**
 * Whole places in the series for triplets, from their measured ones. A target has each element once for each direction: where
 * two claim the same place and the free one beside it is nearly as near, the one nearer to that moves there.
 */
export function elementPlaces(triplets: readonly FoundTriplet[], placeOf: (triplet: FoundTriplet) => number): number[] {
  const measured = triplets.map(placeOf);
  const whole = measured.map(Math.round);
  const taken = (kind: string, place: number) =>
    triplets.some((triplet, i) => whole[i] === place && barsRun(triplet) === kind);
  for (let i = 0; i < triplets.length; i++) {
    for (let j = 0; j < triplets.length; j++) {
      if (i === j || whole[i] !== whole[j] || barsRun(triplets[i]!) !== barsRun(triplets[j]!)) continue;
      const [off, other] = [measured[i]! - whole[i]!, measured[j]! - whole[j]!];
      if (Math.abs(off) < 0.25 || Math.abs(off) <= Math.abs(other)) continue;
      const beside = whole[i]! + Math.sign(off);
      if (!taken(barsRun(triplets[i]!), beside)) whole[i] = beside;
    }
  }
  return whole;
}
