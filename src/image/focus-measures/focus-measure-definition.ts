import type { GreyImage, Region } from '../grey-image.js';
import type { FocusSum } from './focus-sums.js';

/** A focus measure: the integer sums it is made of, and what it makes of them. */
export interface FocusMeasureDefinition {
  /** Of the value; empty: dimensionless. */
  unit: 'DN²' | 'DN' | '';
  /** Sums over the region, exact; taken of several measures in one pass. */
  sums: readonly FocusSum[];
  /** The value, from the sums in that order. */
  value(sums: readonly [bigint, bigint, ...bigint[]], region: Region, image: GreyImage): number;
}
