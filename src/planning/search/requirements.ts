/**
 * What a layout is judged by, in the order in which the search asks: the cheapest and most telling first. Each margin is
 * the share of the limit that is to spare: 0 = just met, negative = missed.
 */
export const requirements = [
  'reachNear',
  'reachFar',
  'fieldWidth',
  'fieldHeight',
  'sampling',
  'cornerLight',
  'contrast',
  'focus',
  'signalToNoise',
  'cycle',
] as const;

export type RequirementKey = (typeof requirements)[number];

/** A margin for each requirement; for contrast, focus and light that of the worst plane. */
export type Margins = Record<RequirementKey, number>;

/** Stands for a requirement that is not met at all, as a depth of field of 0. */
export const noMargin = -1000;

/** Requirements that are asked together; a layout that misses one is not asked for the next. */
export const stages = [
  'reach',
  'field',
  'sampling',
  'cornerLight',
  'contrast',
  'focus',
  'signalToNoise',
  'cycle',
] as const;

export type Stage = (typeof stages)[number];

/** The smaller margin of the requirements that belong to a stage. */
export function stageMargin(margins: Margins, stage: Stage): number {
  if (stage === 'reach') return Math.min(margins.reachNear, margins.reachFar);
  if (stage === 'field') return Math.min(margins.fieldWidth, margins.fieldHeight);
  return margins[stage];
}

/** The requirement with the smallest margin; the first in order where several share it. */
export function smallestMargin(margins: Margins): { requirement: RequirementKey; margin: number } {
  return requirements
    .map((requirement) => ({ requirement, margin: margins[requirement] }))
    .reduce((a, b) => (b.margin < a.margin ? b : a));
}
