import type { Verdict } from '../base/index.js';

/** A verdict as it is shown everywhere: a word and a shape, never colour alone. */
export interface VerdictMark {
  word: string;
  /** Path in a box of 16 × 16, drawn with fill `currentColor` and fill-rule `evenodd`. */
  path: string;
}

/** Disc · half disc in a ring · cross · dot in a ring. */
export const verdictMarks: Record<Verdict, VerdictMark> = {
  meets: { word: 'meets', path: 'M8 1a7 7 0 1 1 0 14a7 7 0 1 1 0-14z' },
  marginal: { word: 'marginal', path: 'M8 1a7 7 0 1 1 0 14a7 7 0 1 1 0-14zM8 3a5 5 0 0 1 0 10z' },
  fails: { word: 'fails', path: 'M2.7 1L8 6.3L13.3 1L15 2.7L9.7 8L15 13.3L13.3 15L8 9.7L2.7 15L1 13.3L6.3 8L1 2.7z' },
  unknown: {
    word: 'unknown',
    path: 'M8 1a7 7 0 1 1 0 14a7 7 0 1 1 0-14zM8 3a5 5 0 1 0 0 10a5 5 0 1 0 0-10zM7 7h2v2h-2z',
  },
};
