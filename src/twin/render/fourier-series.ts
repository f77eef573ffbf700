/**
 * Fourier coefficients of rows of samples, by the plain sum: the readable measure for the kernel.
 *
 * Formula  c(ky, kx) = 1/(M·N) · Σ v(y, x)·exp(−2πi·(kx·x/N + ky·y/M))
 * Input    row-major values of `rowCount` × `columnCount`.
 * Returns  coefficients for ky = −halfRowCount … +halfRowCount (rows) and kx = 0 … halfColumnCount.
 * Trust    cost grows with the third power of the size: for small sizes only.
 */
export function fourierSeries(
  values: Float32Array,
  {
    columnCount,
    rowCount,
    halfColumnCount,
    halfRowCount,
  }: { columnCount: number; rowCount: number; halfColumnCount: number; halfRowCount: number },
): { real: Float64Array; imaginary: Float64Array } {
  const width = halfColumnCount + 1;
  const lineReal = new Float64Array(rowCount * width);
  const lineImaginary = new Float64Array(rowCount * width);
  for (let y = 0; y < rowCount; y++) {
    for (let kx = 0; kx < width; kx++) {
      for (let x = 0; x < columnCount; x++) {
        const phase = (-2 * Math.PI * ((kx * x) % columnCount)) / columnCount;
        lineReal[y * width + kx]! += values[y * columnCount + x]! * Math.cos(phase);
        lineImaginary[y * width + kx]! += values[y * columnCount + x]! * Math.sin(phase);
      }
    }
  }
  const height = 2 * halfRowCount + 1;
  const real = new Float64Array(height * width);
  const imaginary = new Float64Array(height * width);
  const scale = 1 / (columnCount * rowCount);
  for (let row = 0; row < height; row++) {
    for (let y = 0; y < rowCount; y++) {
      const phase = (-2 * Math.PI * (((row - halfRowCount) * y) % rowCount)) / rowCount;
      const c = scale * Math.cos(phase);
      const s = scale * Math.sin(phase);
      for (let kx = 0; kx < width; kx++) {
        const from = y * width + kx;
        real[row * width + kx]! += lineReal[from]! * c - lineImaginary[from]! * s;
        imaginary[row * width + kx]! += lineReal[from]! * s + lineImaginary[from]! * c;
      }
    }
  }
  return { real, imaginary };
}
