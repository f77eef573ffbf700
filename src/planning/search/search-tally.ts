import { noMargin, type Stage, stages } from './requirements.js';
import type { SearchSpace } from './search-space.js';

/** Parts of a layout by their places; the sensor is missing where every sensor fares alike. */
export interface PartsOfLayout {
  sensorIndex?: number;
  fixedLensIndex: number;
  tunableLensIndex: number;
  spacerIndex: number;
}

/** How many combinations fared how. They sum to all that were searched. */
export interface SearchCounts {
  /** Ring distances that the ring does not have. */
  absentCount: number;
  /** Dropped at each requirement, by its bound or by the full prediction. */
  missed: Record<Stage, number>;
  /** Not predicted in full because a better setting of the same parts was found. */
  outrankedCount: number;
  /** Met every requirement in the full prediction. */
  acceptedCount: number;
}

/** What is known of one part: whether a layout with it was accepted, and the best that was missed at each requirement. */
export interface PartStanding {
  accepted: boolean;
  /** Largest margin among layouts that first missed at this requirement; null where none did. */
  bestMissed: Record<Stage, number | null>;
}

/** Part standings of each kind, in the order of the library. */
export interface SearchStandings {
  sensors: PartStanding[];
  fixedLenses: PartStanding[];
  tunableLenses: PartStanding[];
  spacers: PartStanding[];
}

/** What several slices know of the parts together. */
export function mergedStandings(slices: readonly SearchStandings[]): SearchStandings {
  const merged = (kind: keyof SearchStandings) =>
    slices[0]![kind].map((_, i): PartStanding => {
      const all = slices.map((slice) => slice[kind][i]!);
      const best = (stage: Stage) =>
        all.reduce<number | null>((most, { bestMissed }) => {
          const here = bestMissed[stage];
          return here === null || (most !== null && most >= here) ? most : here;
        }, null);
      return {
        accepted: all.some(({ accepted }) => accepted),
        bestMissed: Object.fromEntries(stages.map((stage) => [stage, best(stage)])) as PartStanding['bestMissed'],
      };
    });
  return {
    sensors: merged('sensors'),
    fixedLenses: merged('fixedLenses'),
    tunableLenses: merged('tunableLenses'),
    spacers: merged('spacers'),
  };
}

/** Counts what becomes of combinations, and remembers for each part the best of what was missed. */
export class SearchTally {
  readonly counts: SearchCounts;
  /** Full predictions made. */
  predictionCount = 0;
  readonly standings: SearchStandings;

  constructor({ parts }: SearchSpace) {
    const none = () => Object.fromEntries(stages.map((stage) => [stage, null])) as PartStanding['bestMissed'];
    const fresh = (list: readonly unknown[]) => list.map(() => ({ accepted: false, bestMissed: none() }));
    this.counts = {
      absentCount: 0,
      missed: Object.fromEntries(stages.map((stage) => [stage, 0])) as SearchCounts['missed'],
      outrankedCount: 0,
      acceptedCount: 0,
    };
    this.standings = {
      sensors: fresh(parts.sensors),
      fixedLenses: fresh(parts.fixedLenses),
      tunableLenses: fresh(parts.tunableLenses),
      spacers: fresh(parts.spacers),
    };
  }

  predicted(): void {
    this.predictionCount++;
  }

  absent(count: number): void {
    this.counts.absentCount += count;
  }

  outranked(count: number): void {
    this.counts.outrankedCount += count;
  }

  /** Combinations that first missed at a stage, all by the same margin. */
  missed({ stage, margin, count, parts }: { stage: Stage; margin: number; count: number; parts: PartsOfLayout }): void {
    this.counts.missed[stage] += count;
    const finite = Math.max(noMargin, margin);
    const { sensors, fixedLenses, tunableLenses, spacers } = this.standings;
    if (parts.sensorIndex === undefined) for (const sensor of sensors) keepBest(sensor, stage, finite);
    else keepBest(sensors[parts.sensorIndex]!, stage, finite);
    keepBest(fixedLenses[parts.fixedLensIndex]!, stage, finite);
    keepBest(tunableLenses[parts.tunableLensIndex]!, stage, finite);
    keepBest(spacers[parts.spacerIndex]!, stage, finite);
  }

  accepted({ sensorIndex, fixedLensIndex, tunableLensIndex, spacerIndex }: Required<PartsOfLayout>): void {
    this.counts.acceptedCount++;
    const { sensors, fixedLenses, tunableLenses, spacers } = this.standings;
    sensors[sensorIndex]!.accepted = true;
    fixedLenses[fixedLensIndex]!.accepted = true;
    tunableLenses[tunableLensIndex]!.accepted = true;
    spacers[spacerIndex]!.accepted = true;
  }

  isSpacerAccepted(spacerIndex: number): boolean {
    return this.standings.spacers[spacerIndex]!.accepted;
  }
}

function keepBest({ bestMissed }: PartStanding, stage: Stage, margin: number): void {
  const best = bestMissed[stage];
  if (best === null || margin > best) bestMissed[stage] = margin;
}
