import type { PartKind, RejectedPartRecord } from '../../station/index.js';
import { inWords, percent } from '../words.js';
import { noMargin, type Stage, stages } from './requirements.js';
import type { SearchSpace } from './search-space.js';
import type { PartStanding, SearchStandings } from './search-tally.js';

/** Every part that no accepted layout has, with the requirement that ends its layouts. */
export function rejectedParts(space: SearchSpace, standings: SearchStandings): RejectedPartRecord[] {
  const { sensors, fixedLenses, tunableLenses, spacers } = space.parts;
  const of = (kind: PartKind, parts: readonly { name: string }[], list: readonly PartStanding[]) =>
    parts.flatMap(({ name }, i) => (list[i]!.accepted ? [] : [rejection(space, kind, name, list[i]!)]));
  return [
    ...of('sensor', sensors, standings.sensors),
    ...of('fixedLens', fixedLenses, standings.fixedLenses),
    ...of('tunableLens', tunableLenses, standings.tunableLenses),
    ...of('spacer', spacers, standings.spacers),
  ];
}

/**
 * Why a part is in no layout that meets the task.
 *
 * Model    the last requirement that any layout with the part came to: all that met those before it missed here
 */
function rejection(space: SearchSpace, kind: PartKind, name: string, { bestMissed }: PartStanding): RejectedPartRecord {
  const stage = [...stages].reverse().find((each) => bestMissed[each] !== null);
  if (!stage) {
    const reason = 'it fits no layout: no gap, spacer or ring distance goes with it';
    return { kind, name, requirement: 'fit', bestMargin: noMargin, reason };
  }
  const bestMargin = bestMissed[stage]!;
  const earlier = stages
    .slice(0, stages.indexOf(stage))
    .filter((each) => bestMissed[each] !== null || each === 'reach');
  const condition =
    earlier.length === 0
      ? 'in every layout'
      : `in every layout that meets ${listed(earlier.map((each) => stageWords[each]))}`;
  return {
    kind,
    name,
    requirement: stage,
    bestMargin,
    reason: `${condition}, ${missInWords(space, stage, bestMargin)}`,
  };
}

const listed = (words: readonly string[]) =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;

/** Names of the requirements for a sentence. */
export const stageWords: Record<Stage, string> = {
  reach: 'reach',
  field: 'field',
  sampling: 'sampling',
  cornerLight: 'corner light',
  contrast: 'contrast',
  focus: 'focus budget',
  signalToNoise: 'signal-to-noise ratio',
  cycle: 'cycle time',
};

function missInWords({ task: { task } }: SearchSpace, stage: Stage, margin: number): string {
  const share = 1 + margin;
  switch (stage) {
    case 'reach':
      return `the lens’s powers miss the task’s range with its tolerances by at least ${percent(-margin)} of the lens’s range`;
    case 'field':
      return `the field is at most ${inWords(share)} of the ${inWords(task.fieldWidthMm)} × ${inWords(task.fieldHeightMm, 'mm')} needed on the tighter side`;
    case 'sampling':
      return `the smallest feature of ${inWords(task.smallestFeatureMm, 'mm')} covers at most ${inWords(1 / (1 - margin), 'px')} of the 1 px that sampling needs`;
    case 'cornerLight':
      return `the corner gets at most ${percent(share * task.cornerIlluminationNeeded)} of the centre’s light, ${percent(task.cornerIlluminationNeeded)} is needed`;
    case 'contrast':
      return `the contrast at the task frequency is at most ${inWords(share * task.contrastNeeded)}, ${inWords(task.contrastNeeded)} is needed`;
    case 'focus':
      return margin <= noMargin
        ? 'there is no depth of field'
        : `the focus error is at least ${inWords(1 - margin)} times the depth of field`;
    case 'signalToNoise':
      return `the signal-to-noise ratio is at most ${inWords(share * task.signalToNoiseNeeded)}, ${inWords(task.signalToNoiseNeeded)} is needed`;
    case 'cycle':
      return margin <= noMargin
        ? 'the lens never settles'
        : `all planes take at least ${inWords((1 - margin) * task.cycleTimeMs, 'ms')}, ${inWords(task.cycleTimeMs, 'ms')} are allowed`;
  }
}
