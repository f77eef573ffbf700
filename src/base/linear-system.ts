/** Small dense symmetric systems, row-major in Float64Array. */

/**
 * Cholesky factor L (lower triangle, row-major) of a symmetric positive definite n × n matrix; null if it is not.
 */
export function choleskyFactor(matrix: Float64Array, n: number): Float64Array | null {
  const factor = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j]!;
      for (let k = 0; k < j; k++) sum -= factor[i * n + k]! * factor[j * n + k]!;
      if (i !== j) factor[i * n + j] = sum / factor[j * n + j]!;
      else if (sum > 1e-14 * Math.abs(matrix[i * n + i]!) && sum > 0) factor[i * n + i] = Math.sqrt(sum);
      else return null;
    }
  }
  return factor;
}

/** Solves L Lᵀ x = b for a Cholesky factor L. */
export function choleskySolve(factor: Float64Array, n: number, b: ArrayLike<number>): Float64Array {
  const x = forwardSolve(factor, n, b);
  for (let i = n - 1; i >= 0; i--) {
    let sum = x[i]!;
    for (let k = i + 1; k < n; k++) sum -= factor[k * n + i]! * x[k]!;
    x[i] = sum / factor[i * n + i]!;
  }
  return x;
}

/** Solves L y = b; |y|² is bᵀ A⁻¹ b. */
export function forwardSolve(factor: Float64Array, n: number, b: ArrayLike<number>): Float64Array {
  const y = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let sum = b[i]!;
    for (let k = 0; k < i; k++) sum -= factor[i * n + k]! * y[k]!;
    y[i] = sum / factor[i * n + i]!;
  }
  return y;
}

/** Inverse of L Lᵀ, row-major. */
export function choleskyInverse(factor: Float64Array, n: number): Float64Array {
  const inverse = new Float64Array(n * n);
  const unit = new Float64Array(n);
  for (let j = 0; j < n; j++) {
    unit.fill(0);
    unit[j] = 1;
    inverse.set(choleskySolve(factor, n, unit), j * n);
  }
  return inverse;
}
