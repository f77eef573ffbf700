/** Highest place of a curve, as a search left it. */
export interface CurveTop {
  kind: 'top';
  focalPowerDpt: number;
  focalPowerStdDpt: number;
}

/** No top to be trusted. */
export interface NoTop {
  kind: 'none';
  reason: 'flat' | 'at-end' | 'several-tops';
  message: string;
}

/**
 * A search for the top of a curve: asks for positions, is told the values, ends with the top or without. It knows neither
 * frames nor lenses.
 */
export type CurveSearch = Generator<number, CurveTop | NoTop, number>;

/** Where a curve may be looked at. */
export interface CurveRange {
  lowDpt: number;
  highDpt: number;
  /** Where the search stands at first; null: not known. */
  startDpt: number | null;
  /** Interval within which the top is to be known. */
  toleranceDpt: number;
}
