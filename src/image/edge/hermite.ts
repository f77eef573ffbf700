/**
 * Hermite functions ψ_0 … ψ_(n−1) at x, orthonormal over the line. ψ_n reaches to |x| ≈ √(2n + 1) and its Fourier
 * transform is √(2π)·(−i)ⁿ·ψ_n: a basis for what is local in place and in frequency.
 */
export function hermiteFunctions(x: number, n: number, into: Float64Array): Float64Array {
  into[0] = Math.PI ** -0.25 * Math.exp((-x * x) / 2);
  if (n > 1) into[1] = Math.SQRT2 * x * into[0]!;
  for (let k = 2; k < n; k++) {
    into[k] = Math.sqrt(2 / k) * x * into[k - 1]! - Math.sqrt((k - 1) / k) * into[k - 2]!;
  }
  return into;
}
