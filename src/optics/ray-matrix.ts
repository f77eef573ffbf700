import { mmPerM, requireFinite } from '../base/index.js';

/**
 * A paraxial 2×2 ray matrix [a b; c d] on rays (height mm, slope mm per mm). Light travels to +z; heights up are
 * positive. `b` is in mm, `c` in 1/mm, `a` and `d` have no unit. Between air and air the determinant is 1.
 */
export interface RayMatrix {
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly d: number;
}

/** Leaves every ray as it is. */
export const identityMatrix: RayMatrix = { a: 1, b: 0, c: 0, d: 1 };

/**
 * Free travel over a gap; a negative gap goes back to a plane that lies before.
 *
 * Formula  [1 gap; 0 1]
 * Throws   RangeError if the gap is not finite.
 */
export function gapMatrix({ gapMm }: { gapMm: number }): RayMatrix {
  requireFinite('gapMm', gapMm, 'mm');
  return { a: 1, b: gapMm, c: 0, d: 1 };
}

/**
 * A thin lens, or a thick one between its principal planes.
 *
 * Formula  [1 0; −P 1], P in 1/mm
 * Throws   RangeError if the power is not finite.
 */
export function thinLensMatrix({ powerDpt }: { powerDpt: number }): RayMatrix {
  requireFinite('powerDpt', powerDpt, 'dpt');
  return { a: 1, b: 0, c: -powerDpt / mmPerM, d: 1 };
}

/**
 * The matrix of elements in the order in which light meets them.
 *
 * Formula  M = last · … · first
 * Returns  the identity for no elements.
 * Source   Hecht, Optics; Smith, Modern Optical Engineering (from memory; derived again)
 * Checked  reference: two-lens tables in tests/optics/two-lenses.test.ts
 */
export function systemMatrix(elementsInLightOrder: readonly RayMatrix[]): RayMatrix {
  let product = identityMatrix;
  for (const element of elementsInLightOrder) product = multiplyMatrices(element, product);
  return product;
}

/** later · earlier: light meets `earlier` first. */
export function multiplyMatrices(later: RayMatrix, earlier: RayMatrix): RayMatrix {
  return {
    a: later.a * earlier.a + later.b * earlier.c,
    b: later.a * earlier.b + later.b * earlier.d,
    c: later.c * earlier.a + later.d * earlier.c,
    d: later.c * earlier.b + later.d * earlier.d,
  };
}

/** a·d − b·c: 1 for every system in air; what it misses is the rounding error. */
export function determinant({ a, b, c, d }: RayMatrix): number {
  return a * d - b * c;
}
