// Complex transforms of four signals at once: each v128 holds the same sample of four signals, so no lane is ever moved
// inside a transform. A sample is 32 bytes: four real parts, four imaginary parts.

/** Bytes of one sample of four complex signals. */
export const SAMPLE: usize = 32;

// @ts-ignore: decorator
@inline
function re(sample: usize): v128 {
  return v128.load(sample);
}

// @ts-ignore: decorator
@inline
function im(sample: usize): v128 {
  return v128.load(sample, 16);
}

// @ts-ignore: decorator
@inline
function store(sample: usize, real: v128, imaginary: v128): void {
  v128.store(sample, real);
  v128.store(sample, imaginary, 16);
}

// @ts-ignore: decorator
@inline
function storeTurned(sample: usize, real: v128, imaginary: v128, twiddle: usize): void {
  const c = v128.load_splat<f32>(twiddle);
  const s = v128.load_splat<f32>(twiddle, 4);
  store(
    sample,
    f32x4.sub(f32x4.mul(real, c), f32x4.mul(imaginary, s)),
    f32x4.add(f32x4.mul(real, s), f32x4.mul(imaginary, c)),
  );
}

// @ts-ignore: decorator
@inline
function add(a: v128, b: v128): v128 {
  return f32x4.add(a, b);
}

// @ts-ignore: decorator
@inline
function sub(a: v128, b: v128): v128 {
  return f32x4.sub(a, b);
}

// @ts-ignore: decorator
@inline
function scaled(a: v128, by: f32): v128 {
  return f32x4.mul(a, f32x4.splat(by));
}

/**
 * y_n = Σ_k x_k·exp(+2πi·k·n/N), Stockham's order: no reordering pass, two buffers in turn.
 * `plan`: i32 N, i32 number of stages, i32 radix of each stage (2, 3, 4 or 5), then (cos, sin) pairs of f32: for every
 * stage and every p < N_stage/radix the turns 1 … radix − 1 times p.
 * Returns the buffer that holds the result.
 */
export function transform(from: usize, to: usize, plan: usize): usize {
  let n: usize = load<u32>(plan);
  const stages: usize = load<u32>(plan, 4);
  let twiddle: usize = plan + 8 + 4 * stages;
  let stride: usize = SAMPLE;
  for (let stage: usize = 0; stage < stages; stage++) {
    const radix: usize = load<u32>(plan + 8 + 4 * stage);
    const m = n / radix;
    if (radix == 4) radix4(from, to, m, stride, twiddle);
    else if (radix == 5) radix5(from, to, m, stride, twiddle);
    else if (radix == 3) radix3(from, to, m, stride, twiddle);
    else radix2(from, to, m, stride, twiddle);
    twiddle += m * (radix - 1) * 8;
    stride *= radix;
    n = m;
    const swap = from;
    from = to;
    to = swap;
  }
  return from;
}

function radix2(from: usize, to: usize, m: usize, stride: usize, twiddle: usize): void {
  const part = m * stride;
  for (let p: usize = 0; p < m; p++) {
    for (const end = from + stride; from < end; from += SAMPLE) {
      const ar = re(from);
      const ai = im(from);
      const br = re(from + part);
      const bi = im(from + part);
      store(to, add(ar, br), add(ai, bi));
      storeTurned(to + stride, sub(ar, br), sub(ai, bi), twiddle);
      to += SAMPLE;
    }
    to += stride;
    twiddle += 8;
  }
}

function radix3(from: usize, to: usize, m: usize, stride: usize, twiddle: usize): void {
  const part = m * stride;
  const SIN60: f32 = 0.8660254037844386;
  for (let p: usize = 0; p < m; p++) {
    for (const end = from + stride; from < end; from += SAMPLE) {
      const ar = re(from);
      const ai = im(from);
      const br = re(from + part);
      const bi = im(from + part);
      const cr = re(from + 2 * part);
      const ci = im(from + 2 * part);
      const sr = add(br, cr);
      const si = add(bi, ci);
      const dr = scaled(sub(br, cr), SIN60);
      const di = scaled(sub(bi, ci), SIN60);
      const hr = sub(ar, scaled(sr, 0.5));
      const hi = sub(ai, scaled(si, 0.5));
      store(to, add(ar, sr), add(ai, si));
      storeTurned(to + stride, sub(hr, di), add(hi, dr), twiddle);
      storeTurned(to + 2 * stride, add(hr, di), sub(hi, dr), twiddle + 8);
      to += SAMPLE;
    }
    to += 2 * stride;
    twiddle += 16;
  }
}

function radix4(from: usize, to: usize, m: usize, stride: usize, twiddle: usize): void {
  const part = m * stride;
  for (let p: usize = 0; p < m; p++) {
    for (const end = from + stride; from < end; from += SAMPLE) {
      const ar = re(from);
      const ai = im(from);
      const cr = re(from + 2 * part);
      const ci = im(from + 2 * part);
      const evenR = add(ar, cr);
      const evenI = add(ai, ci);
      const oddR = sub(ar, cr);
      const oddI = sub(ai, ci);
      const br = re(from + part);
      const bi = im(from + part);
      const dr = re(from + 3 * part);
      const di = im(from + 3 * part);
      const sumR = add(br, dr);
      const sumI = add(bi, di);
      const difR = sub(br, dr);
      const difI = sub(bi, di);
      store(to, add(evenR, sumR), add(evenI, sumI));
      storeTurned(to + stride, sub(oddR, difI), add(oddI, difR), twiddle);
      storeTurned(to + 2 * stride, sub(evenR, sumR), sub(evenI, sumI), twiddle + 8);
      storeTurned(to + 3 * stride, add(oddR, difI), sub(oddI, difR), twiddle + 16);
      to += SAMPLE;
    }
    to += 3 * stride;
    twiddle += 24;
  }
}

function radix5(from: usize, to: usize, m: usize, stride: usize, twiddle: usize): void {
  const part = m * stride;
  const COS72: f32 = 0.30901699437494745;
  const COS144: f32 = -0.8090169943749475;
  const SIN72: f32 = 0.9510565162951535;
  const SIN144: f32 = 0.5877852522924731;
  for (let p: usize = 0; p < m; p++) {
    for (const end = from + stride; from < end; from += SAMPLE) {
      const ar = re(from);
      const ai = im(from);
      const br = re(from + part);
      const bi = im(from + part);
      const er = re(from + 4 * part);
      const ei = im(from + 4 * part);
      const s1r = add(br, er);
      const s1i = add(bi, ei);
      const d1r = sub(br, er);
      const d1i = sub(bi, ei);
      const cr = re(from + 2 * part);
      const ci = im(from + 2 * part);
      const dr = re(from + 3 * part);
      const di = im(from + 3 * part);
      const s2r = add(cr, dr);
      const s2i = add(ci, di);
      const d2r = sub(cr, dr);
      const d2i = sub(ci, di);
      store(to, add(ar, add(s1r, s2r)), add(ai, add(s1i, s2i)));
      const u1r = add(ar, add(scaled(s1r, COS72), scaled(s2r, COS144)));
      const u1i = add(ai, add(scaled(s1i, COS72), scaled(s2i, COS144)));
      const v1r = add(scaled(d1r, SIN72), scaled(d2r, SIN144));
      const v1i = add(scaled(d1i, SIN72), scaled(d2i, SIN144));
      storeTurned(to + stride, sub(u1r, v1i), add(u1i, v1r), twiddle);
      storeTurned(to + 4 * stride, add(u1r, v1i), sub(u1i, v1r), twiddle + 24);
      const u2r = add(ar, add(scaled(s1r, COS144), scaled(s2r, COS72)));
      const u2i = add(ai, add(scaled(s1i, COS144), scaled(s2i, COS72)));
      const v2r = sub(scaled(d1r, SIN144), scaled(d2r, SIN72));
      const v2i = sub(scaled(d1i, SIN144), scaled(d2i, SIN72));
      storeTurned(to + 2 * stride, sub(u2r, v2i), add(u2i, v2r), twiddle + 8);
      storeTurned(to + 3 * stride, add(u2r, v2i), sub(u2i, v2r), twiddle + 16);
      to += SAMPLE;
    }
    to += 4 * stride;
    twiddle += 32;
  }
}
