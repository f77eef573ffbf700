/**
 * Fourier transform of a uniform disc, 2 J1(z)/z with z = 2πRf, and its derivative by R² over (2πf)²: −J2(z)/z².
 *
 * Source   polynomial approximations 9.4.1 … 9.4.6 of Abramowitz & Stegun (1964), |error| < 1e-7 (coefficients from memory)
 * Checked  reference: against numerical integration in tests/image/disc-transform.test.ts
 */
export function discTransform(z: number): { value: number; slope: number } {
  if (z < 3) {
    const t = (z / 3) ** 2;
    const value = 1 + 2 * t * poly(t, [-0.56249985, 0.21093573, -0.03954289, 0.00443319, -0.00031761, 0.00001109]);
    if (z < 1) {
      const q = (z * z) / 4;
      return { value, slope: -(1 / 8) * (1 - q / 3 + (q * q) / 24 - (q * q * q) / 360) };
    }
    const j0 = 1 + t * poly(t, [-2.2499997, 1.2656208, -0.3163866, 0.0444479, -0.0039444, 0.00021]);
    return { value, slope: -(value - j0) / (z * z) };
  }
  const s = 3 / z;
  const root = 1 / Math.sqrt(z);
  const f0 = poly(s, [0.79788456, -0.00000077, -0.0055274, -0.00009512, 0.00137237, -0.00072805, 0.00014476]);
  const a0 = z - 0.78539816 + s * poly(s, [-0.04166397, -0.00003954, 0.00262573, -0.00054125, -0.00029333, 0.00013558]);
  const f1 = poly(s, [0.79788456, 0.00000156, 0.01659667, 0.00017105, -0.00249511, 0.00113653, -0.00020033]);
  const a1 = z - 2.35619449 + s * poly(s, [0.12499612, 0.0000565, -0.00637879, 0.00074348, 0.00079824, -0.00029166]);
  const value = (2 * root * f1 * Math.cos(a1)) / z;
  return { value, slope: -(value - root * f0 * Math.cos(a0)) / (z * z) };
}

function poly(x: number, coefficients: readonly number[]): number {
  let sum = 0;
  for (let i = coefficients.length - 1; i >= 0; i--) sum = sum * x + coefficients[i]!;
  return sum;
}
