/** Kinds of cases and how many of each the whole suite holds. */
export const caseCounts = {
  'well-exposed': 360,
  'low-light': 110,
  dim: 40,
  'moving-scene': 24,
  flicker: 24,
  'no-texture': 16,
  black: 16,
  saturated: 16,
  'two-planes': 16,
  'out-of-range': 16,
  'stuck-lens': 12,
  'same-frames': 8,
  'wrong-direction': 8,
} as const;

export type CaseKind = keyof typeof caseCounts;

export const caseKinds = Object.keys(caseCounts) as CaseKind[];

/** Kinds for which no focus may be claimed. */
export const refusedKinds: ReadonlySet<CaseKind> = new Set<CaseKind>([
  'no-texture',
  'black',
  'saturated',
  'two-planes',
  'out-of-range',
  'stuck-lens',
  'same-frames',
  'wrong-direction',
]);
