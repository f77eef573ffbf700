const twiddles = new Map<number, { cos: Float64Array; sin: Float64Array }>();

/** In-place discrete Fourier sum Σ z[k]·exp(+2πi·k·n/N), N a power of two, not normalised. */
export function fourierSum(re: Float64Array, im: Float64Array): void {
  const n = re.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      const [x, y] = [re[i]!, im[i]!];
      re[i] = re[j]!;
      im[i] = im[j]!;
      re[j] = x;
      im[j] = y;
    }
  }
  const { cos, sin } = twiddlesOf(n);
  const fours = n >= 4;
  if (fours) firstTwoStages(re, im);
  for (let half = fours ? 4 : 1; half < n; half <<= 1) {
    const stride = n / (2 * half);
    for (let start = 0; start < n; start += 2 * half) {
      for (let k = 0; k < half; k++) {
        const a = start + k;
        const b = a + half;
        const c = cos[k * stride]!;
        const s = sin[k * stride]!;
        const x = re[b]! * c - im[b]! * s;
        const y = re[b]! * s + im[b]! * c;
        re[b] = re[a]! - x;
        im[b] = im[a]! - y;
        re[a] = re[a]! + x;
        im[a] = im[a]! + y;
      }
    }
  }
}

/** The stages whose factors are 1 and i. */
function firstTwoStages(re: Float64Array, im: Float64Array): void {
  for (let k = 0; k < re.length; k += 4) {
    const [x0, x1] = [re[k]! + re[k + 1]!, re[k]! - re[k + 1]!];
    const [y0, y1] = [im[k]! + im[k + 1]!, im[k]! - im[k + 1]!];
    const [x2, x3] = [re[k + 2]! + re[k + 3]!, re[k + 2]! - re[k + 3]!];
    const [y2, y3] = [im[k + 2]! + im[k + 3]!, im[k + 2]! - im[k + 3]!];
    re[k] = x0 + x2;
    im[k] = y0 + y2;
    re[k + 1] = x1 - y3;
    im[k + 1] = y1 + x3;
    re[k + 2] = x0 - x2;
    im[k + 2] = y0 - y2;
    re[k + 3] = x1 + y3;
    im[k + 3] = y1 - x3;
  }
}

function twiddlesOf(n: number) {
  let found = twiddles.get(n);
  if (!found) {
    found = { cos: new Float64Array(n / 2), sin: new Float64Array(n / 2) };
    for (let k = 0; k < n / 2; k++) {
      found.cos[k] = Math.cos((2 * Math.PI * k) / n);
      found.sin[k] = Math.sin((2 * Math.PI * k) / n);
    }
    twiddles.set(n, found);
  }
  return found;
}
