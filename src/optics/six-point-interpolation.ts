/** 1 / Π (k − j) over j ≠ k, for the six nodes k = 0 … 5. */
const inverseDenominators = [-1 / 120, 1 / 24, -1 / 12, 1 / 12, -1 / 24, 1 / 120] as const;

/**
 * Weights of six evenly spaced samples for the value between them (Lagrange).
 *
 * Input    place in steps from the first sample, 0 … 5; best between 2 and 3.
 * Returns  into `weights`, so that nothing is allocated where it counts.
 * Checked  property: exact for polynomials of degree 5, tests/optics/six-point-interpolation.test.ts
 */
export function sixPointWeights(place: number, weights: Float64Array): void {
  for (let k = 0; k < 6; k++) {
    let product: number = inverseDenominators[k]!;
    for (let j = 0; j < 6; j++) if (j !== k) product *= place - j;
    weights[k] = product;
  }
}
