/**
 * Hopkins's Bessel series for the defocused circular pupil: a second, independent way to the same function.
 * C = b·J1 + ½ Σ (−1)^(n+1)·sin 2nb/n·(J_{2n−1} − J_{2n+1}), S = Σ (−1)^n·sin (2n+1)b/(2n+1)·(J_{2n} − J_{2n+2}).
 */
export function hopkinsSeriesOtf(s: number, defocusWaves: number): number {
  const a = 8 * Math.PI * defocusWaves * s;
  const b = Math.acos(s);
  const terms = Math.ceil(a) + 60;
  const j = besselJ(a, 2 * terms + 2);
  let c = b * j[1]!;
  let d = 0;
  for (let n = 1; n <= terms; n++)
    c += ((n % 2 ? 0.5 : -0.5) * Math.sin(2 * n * b) * (j[2 * n - 1]! - j[2 * n + 1]!)) / n;
  for (let n = 0; n <= terms; n++) {
    d += ((n % 2 ? -1 : 1) * Math.sin((2 * n + 1) * b) * (j[2 * n]! - j[2 * n + 2]!)) / (2 * n + 1);
  }
  return (4 / (Math.PI * a)) * (Math.cos(a * s) * c - Math.sin(a * s) * d);
}

/** J_0 … J_count by Miller's downward recurrence, normalised by J_0 + 2 Σ J_2n = 1. */
export function besselJ(x: number, count: number): Float64Array {
  const top = Math.max(count, Math.ceil(x));
  const start = 2 * Math.ceil((top + 20 + 2 * Math.sqrt(40 * top)) / 2);
  const j = new Float64Array(start + 2);
  j[start] = 1e-300;
  for (let n = start; n > 0; n--) {
    j[n - 1] = ((2 * n) / x) * j[n]! - j[n + 1]!;
    if (Math.abs(j[n - 1]!) > 1e250) for (let k = n - 1; k <= start; k++) j[k]! *= 1e-250;
  }
  let sum = j[0]!;
  for (let n = 2; n <= start; n += 2) sum += 2 * j[n]!;
  return j.map((value) => value / sum);
}
