import { requireInteger, requirePositive } from '../base/index.js';

/** An element of a three-bar resolution target. */
export interface ThreeBarElement {
  group: number;
  /** 1 … 6 */
  element: number;
  linePairsPerMm: number;
}

/**
 * Line pairs per mm of an element of the three-bar target.
 *
 * Formula  2^(group + (element − 1)/6); the width of a bar is half a period
 * Throws   RangeError naming the field, if the group is no whole number or the element not 1 … 6.
 * Source   MIL-STD-150A 5.1.1.7 (cancelled 2006, still the common target)
 * Checked  reference: the published table of 60 elements, tests/optics/three-bar-element.test.ts
 */
export function threeBarLinePairsPerMm({ group, element }: { group: number; element: number }): number {
  requireInteger('group', group);
  requireInteger('element', element, { min: 1, max: 6 });
  return 2 ** (group + (element - 1) / 6);
}

/**
 * The finest element that is not finer than a frequency.
 *
 * Returns  any group, also ones that no printed target has.
 * Throws   RangeError if the frequency is not > 0.
 * Trust    "resolved" is the reader's criterion: this only turns a frequency into an element.
 */
export function threeBarElementAt(linePairsPerMm: number): ThreeBarElement {
  requirePositive('linePairsPerMm', linePairsPerMm, 'lp/mm');
  // A frequency that is an element's own, but for rounding, is that element.
  const sixths = Math.floor(6 * Math.log2(linePairsPerMm) + 1e-9);
  const group = Math.floor(sixths / 6);
  const element = sixths - 6 * group + 1;
  return { group, element, linePairsPerMm: threeBarLinePairsPerMm({ group, element }) };
}
