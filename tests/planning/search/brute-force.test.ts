import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { combinationCount, searchSlice } from '../../../src/planning/index.js';
import { stageMargin, stages } from '../../../src/planning/search/requirements.js';
import { rankedLayouts } from '../../../src/planning/search/search-record.js';
import { mergedStandings } from '../../../src/planning/search/search-tally.js';
import { everyCombination, type Tried } from './brute-force.js';
import { smallSpace } from './small-space.js';

const choiceOf = ({ fixedLensIndex, tunableLensIndex, tunableLensAt, sensorIndex }: Tried['combination']) =>
  [fixedLensIndex, tunableLensIndex, tunableLensAt, sensorIndex].join(' ');

/** The best of each choice of parts that meets the task, best first. */
function bestByChoice(tried: Tried[]): Map<string, number> {
  const best = new Map<string, number>();
  for (const { choice, smallest } of tried) {
    if (smallest >= 0 && smallest > (best.get(choice) ?? -1)) best.set(choice, smallest);
  }
  return best;
}

describe('search against every combination tried', () => {
  const seen = { met: 0, unmet: 0 };
  it('property: pruning changes nothing: the same choices, the same margins, the same rejected parts', () => {
    fc.assert(
      fc.property(smallSpace, (space) => {
        const tried = everyCombination(space);
        const expected = bestByChoice(tried);
        const slices = [0, 1].map((sliceIndex) => searchSlice(space, { sliceIndex, sliceCount: 2 }));
        const found = rankedLayouts(slices.flatMap((slice) => slice.found));
        seen[found.length > 0 ? 'met' : 'unmet']++;

        expect(new Set(found.map(({ combination }) => choiceOf(combination)))).toEqual(new Set(expected.keys()));
        for (const { combination, margins, smallestMargin } of found) {
          expect(smallestMargin).toBeCloseTo(expected.get(choiceOf(combination))!, 5);
          const same = tried.find(
            ({ combination: c }) =>
              JSON.stringify({ ...c, middleFNumber: 0 }) === JSON.stringify({ ...combination, middleFNumber: 0 }),
          );
          expect(same?.margins).toEqual(margins);
        }
        expect(found.map(({ smallestMargin }) => smallestMargin)).toEqual(
          [...found.map(({ smallestMargin }) => smallestMargin)].sort((a, b) => b - a),
        );

        const standings = mergedStandings(slices.map((slice) => slice.standings));
        const met = (key: keyof Tried['combination'], i: number) =>
          tried.some(({ smallest, combination }) => smallest >= 0 && combination[key] === i);
        expect(standings.spacers.map(({ accepted }) => accepted)).toEqual(
          space.parts.spacers.map((_, i) => met('spacerIndex', i)),
        );
        expect(standings.fixedLenses.map(({ accepted }) => accepted)).toEqual(
          space.parts.fixedLenses.map((_, i) => met('fixedLensIndex', i)),
        );
      }),
      { numRuns: 12, seed: 4 },
    );
    expect(seen.met).toBeGreaterThan(2);
    expect(seen.unmet).toBeGreaterThan(0);
  }, 120_000);

  it('property: every combination is counted once, and a rejected part’s reason is what no combination with it does better', () => {
    fc.assert(
      fc.property(smallSpace, (space) => {
        const { counts, standings } = searchSlice(space, { sliceIndex: 0, sliceCount: 1 });
        const missed = Object.values(counts.missed).reduce((sum, count) => sum + count, 0);
        expect(counts.absentCount + missed + counts.outrankedCount + counts.acceptedCount).toBe(
          combinationCount(space),
        );

        const tried = everyCombination(space);
        standings.spacers.forEach(({ accepted, bestMissed }, i) => {
          const last = [...stages].reverse().find((stage) => bestMissed[stage] !== null);
          if (accepted || !last) return;
          const before = stages.slice(0, stages.indexOf(last));
          const came = tried.filter(
            ({ combination, margins }) =>
              combination.spacerIndex === i && before.every((stage) => stageMargin(margins, stage) >= 0),
          );
          const best = Math.max(-1000, ...came.map(({ margins }) => stageMargin(margins, last)));
          expect(best).toBeLessThanOrEqual(bestMissed[last]! + 1e-6);
        });
      }),
      { numRuns: 5, seed: 9 },
    );
  }, 120_000);
});
