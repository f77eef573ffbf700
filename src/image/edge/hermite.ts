/**
 * Hermite functions ψ_0 … ψ_(n−1) at x, orthonormal over the line. ψ_n reaches to |x| ≈ √(2n + 1) and its Fourier
 * transform is √(2π)·(−i)ⁿ·ψ_n: a basis for what is local in place and in frequency.
 */
export function hermiteFunctions(x: number, n: number, into: Float64Array): Float64Array {
  let before = 0;
  let value = quarterRoot * Math.exp((-x * x) / 2);
  for (let k = 0; k < n; k++) {
    into[k] = value;
    const next = rising[k]! * x * value - falling[k]! * before;
    before = value;
    value = next;
  }
  return into;
}

const quarterRoot = Math.PI ** -0.25;
/** ψ_k+1 = √(2/(k+1))·x·ψ_k − √(k/(k+1))·ψ_k−1 */
const mostFunctions = 32;
const rising = Float64Array.from({ length: mostFunctions }, (_, k) => Math.sqrt(2 / (k + 1)));
const falling = Float64Array.from({ length: mostFunctions }, (_, k) => Math.sqrt(k / (k + 1)));
