import { type FoundLayoutRecord, type SearchRecord, stationToYaml } from '../../station/index.js';
import { planStation } from '../plan-station.js';
import { stationOfCombination } from './combination.js';
import { paretoFront } from './pareto-front.js';
import { rejectedParts } from './rejection.js';
import { smallestMargin, stages } from './requirements.js';
import type { FoundLayout } from './search-pair.js';
import type { SliceResult } from './search-slice.js';
import { combinationCount, type SearchSpace } from './search-space.js';
import { mergedStandings } from './search-tally.js';

/** Most layouts that a record keeps. */
const layoutsMaxCount = 200;

/**
 * Puts the slices of a search together: the ranked list, the Pareto front, and the reason for each rejected part.
 *
 * Input    every slice of the space, in any order; `nearestMisses` of a second search with a lower `least`, for a task
 *          that nothing meets
 * Returns  at most 200 layouts, the largest smallest margin first; where it is the same, in the order of the library
 */
export function searchRecordOf({
  space,
  slices,
  nearestMisses = [],
  softwareVersion,
}: {
  space: SearchSpace;
  slices: readonly SliceResult[];
  nearestMisses?: readonly SliceResult[];
  softwareVersion: string;
}): SearchRecord {
  const met = slices.some(({ found }) => found.length > 0);
  const all = rankedLayouts((met ? slices : nearestMisses).flatMap(({ found }) => found));
  const ranked = all.slice(0, layoutsMaxCount);
  const onFront = paretoFront(all.map(({ margins }) => margins));
  return {
    kind: 'search',
    task: space.task.name,
    invented: space.task.invented,
    softwareVersion,
    light: space.light.part.name,
    combinationCount: combinationCount(space),
    predictionCount: slices.reduce((sum, { predictionCount }) => sum + predictionCount, 0),
    missedCounts: Object.fromEntries(
      stages.map((stage) => [stage, slices.reduce((sum, { counts }) => sum + counts.missed[stage], 0)]),
    ),
    layouts: ranked.map((layout, i) => layoutRecord({ space, layout, rank: i + 1, onParetoFront: met && onFront[i]! })),
    met,
    choiceCount: all.length,
    rejectedParts: rejectedParts(space, mergedStandings(slices.map(({ standings }) => standings))),
    assumptions: assumptionsOf(space),
  };
}

/** Best first; the order of the library where margins are the same. */
export function rankedLayouts(found: readonly FoundLayout[]): FoundLayout[] {
  const key = ({ combination: c }: FoundLayout) => [
    c.fixedLensIndex,
    c.tunableLensIndex,
    places.indexOf(c.tunableLensAt),
    c.sensorIndex,
  ];
  return [...found].sort((a, b) => {
    if (b.smallestMargin !== a.smallestMargin) return b.smallestMargin - a.smallestMargin;
    const [ka, kb] = [key(a), key(b)];
    return ka.map((value, i) => value - kb[i]!).find((difference) => difference !== 0) ?? 0;
  });
}

const places = ['object-side', 'image-side', 'at-stop'];

function layoutRecord({
  space,
  layout: { combination, margins },
  rank,
  onParetoFront,
}: {
  space: SearchSpace;
  layout: FoundLayout;
  rank: number;
  onParetoFront: boolean;
}): FoundLayoutRecord {
  const station = stationOfCombination(space, combination);
  const { parts, layout, controls } = station;
  const { requirement, margin } = smallestMargin(margins);
  return {
    rank,
    parts: {
      sensor: parts.sensor.name,
      fixedLens: parts.fixedLens.name,
      tunableLens: parts.tunableLens.name,
      spacer: parts.spacer.name,
    },
    tunableLensAt: layout.tunableLensAt,
    gapMm: layout.gapMm,
    fNumber: layout.fNumber,
    ringDistanceMm: layout.ringDistanceMm,
    exposureMs: controls.exposureMs,
    margins,
    smallestMargin: margin,
    smallestRequirement: requirement,
    verdict: planStation(station, { stationSha256: '', softwareVersion: '' }).verdict,
    onParetoFront,
    yaml: stationToYaml(station),
  };
}

function assumptionsOf({ task, light }: SearchSpace): string[] {
  const list = [
    'Gaps leave 2, 6 or 12 mm between the mounts of both lenses; a tunable lens behind the fixed lens sits inside the spacer of a C-mount (17.526 mm from mount to sensor). A thin lens is taken to be as deep behind its plane as before it.',
    'The focus ring is taken to reach from ten focal lengths (at least 100 mm) to infinity; f-numbers are full stops and the ends of the lens’s range.',
    'The exposure of each layout is the longest that keeps smear and saturation 12 % inside their limits and takes at most a quarter of a plane’s time.',
    `The light, ${light.part.name}, is carried over from a working f-number of ${Number(light.workingFNumber.toPrecision(3))} to each layout’s.`,
  ];
  if (!task.light) list.unshift('The task names no light: the first of the library is taken.');
  return list;
}
