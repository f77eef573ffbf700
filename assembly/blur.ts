// A blurred, scaled image of a scene from the scene's spectrum: multiply, transform back, resample; and the analysis of
// a scene into that spectrum. The readable version with the same results is src/twin/render/blurred-image.ts.
import { SAMPLE, transform } from './fourier';

/** Everything the passes need; addresses and counts, filled in by src/twin/render/blurred-image.fast.ts. */
@unmanaged
class BlurJob {
  /** Blocks of four columns of the spectrum, kx = 0 … 4·blocks − 1. */
  blocks: u32;
  /** Rows of the spectrum reach from −halfRows to +halfRows. */
  halfRows: u32;
  gridRows: u32;
  gridColumns: u32;
  /** [block][ky = 0, +1, −1, +2, −2 …] samples. */
  spectrum: usize;
  /** [block][|ky|] four u16: place in the radial transfer function. */
  radiusIndex: usize;
  radialTransfer: usize;
  columnTransfer: usize;
  rowTransfer: usize;
  ping: usize;
  pong: usize;
  planColumns: usize;
  /** Plan of length gridColumns / 2. */
  planRows: usize;
  /** Plan of length gridColumns. */
  planAnalysis: usize;
  /** (cos, sin) of 2π·k / gridColumns, k < gridColumns / 2. */
  unfolding: usize;
  /** Half-transformed image: [four rows][kx] samples, `lineBytes` apart, zero beyond the spectrum. */
  lines: usize;
  lineBytes: u32;
  /** For each output row: u32 first grid row, six f32 weights, 4 bytes unused. */
  rowTaps: usize;
  columnTaps: usize;
  /** Multiples of four. */
  imageRows: u32;
  imageColumns: u32;
  image: usize;
  /** Scene samples [gridRows][gridColumns], f32. */
  scene: usize;
  /** Row-transformed scene: [block][row] samples. */
  analysis: usize;
  /** 0, or [block][ky ≥ 0] four real and four imaginary parts instead of the radial transfer function. */
  transfer: usize;
}

// @ts-ignore: decorator
@inline
function mulAdd(sum: v128, a: v128, b: v128): v128 {
  return f32x4.add(sum, f32x4.mul(a, b));
}

// @ts-ignore: decorator
@inline
function low(a: v128, b: v128): v128 {
  return v128.shuffle<f32>(a, b, 0, 4, 1, 5);
}

// @ts-ignore: decorator
@inline
function high(a: v128, b: v128): v128 {
  return v128.shuffle<f32>(a, b, 2, 6, 3, 7);
}

// @ts-ignore: decorator
@inline
function low64(a: v128, b: v128): v128 {
  return v128.shuffle<f32>(a, b, 0, 1, 4, 5);
}

// @ts-ignore: decorator
@inline
function high64(a: v128, b: v128): v128 {
  return v128.shuffle<f32>(a, b, 2, 3, 6, 7);
}

/** Weighted sum of six samples `step` bytes apart. */
// @ts-ignore: decorator
@inline
function sixTaps(at: usize, step: usize, taps: usize): v128 {
  let sum = f32x4.mul(v128.load(at), v128.load_splat<f32>(taps, 4));
  sum = mulAdd(sum, v128.load(at + step), v128.load_splat<f32>(taps, 8));
  sum = mulAdd(sum, v128.load(at + 2 * step), v128.load_splat<f32>(taps, 12));
  sum = mulAdd(sum, v128.load(at + 3 * step), v128.load_splat<f32>(taps, 16));
  sum = mulAdd(sum, v128.load(at + 4 * step), v128.load_splat<f32>(taps, 20));
  return mulAdd(sum, v128.load(at + 5 * step), v128.load_splat<f32>(taps, 24));
}

/** The four values of the radial transfer function that four u16 places point to. */
// @ts-ignore: decorator
@inline
function lookUp(table: usize, places: usize): v128 {
  let values = v128.load32_zero(table + ((<usize>load<u16>(places)) << 2));
  values = v128.load_lane<f32>(table + ((<usize>load<u16>(places, 2)) << 2), values, 1);
  values = v128.load_lane<f32>(table + ((<usize>load<u16>(places, 4)) << 2), values, 2);
  return v128.load_lane<f32>(table + ((<usize>load<u16>(places, 6)) << 2), values, 3);
}

/** One block of the spectrum × a complex transfer function, conjugate for −ky, into the column to be transformed. */
function multiplyDirected(job: BlurJob, block: usize): void {
  const halfRows: usize = job.halfRows;
  const columns = v128.load(job.columnTransfer + 16 * block);
  let from = job.spectrum + SAMPLE * block * (2 * halfRows + 1);
  let transfer = job.transfer + 32 * block * (halfRows + 1);
  let above = job.ping;
  let below = job.ping + SAMPLE * <usize>job.gridRows;
  for (let ky: usize = 0; ky <= halfRows; ky++) {
    const h = f32x4.mul(columns, v128.load_splat<f32>(job.rowTransfer + 4 * ky));
    const hr = f32x4.mul(h, v128.load(transfer));
    const hi = f32x4.mul(h, v128.load(transfer, 16));
    transfer += 32;
    let re = v128.load(from);
    let im = v128.load(from, 16);
    v128.store(above, f32x4.sub(f32x4.mul(re, hr), f32x4.mul(im, hi)));
    v128.store(above, f32x4.add(f32x4.mul(re, hi), f32x4.mul(im, hr)), 16);
    from += SAMPLE;
    above += SAMPLE;
    if (ky == 0) continue;
    below -= SAMPLE;
    re = v128.load(from);
    im = v128.load(from, 16);
    v128.store(below, f32x4.add(f32x4.mul(re, hr), f32x4.mul(im, hi)));
    v128.store(below, f32x4.sub(f32x4.mul(im, hr), f32x4.mul(re, hi)), 16);
    from += SAMPLE;
  }
}

/** The same with the radial transfer function, which is real. */
function multiplyRadial(job: BlurJob, block: usize): void {
  const halfRows: usize = job.halfRows;
  const table = job.radialTransfer;
  const columns = v128.load(job.columnTransfer + 16 * block);
  let spectrum = job.spectrum + SAMPLE * block * (2 * halfRows + 1);
  let places = job.radiusIndex + 8 * block * (halfRows + 1);
  const ping = job.ping;
  let h = f32x4.mul(f32x4.mul(lookUp(table, places), columns), v128.load_splat<f32>(job.rowTransfer));
  places += 8;
  v128.store(ping, f32x4.mul(v128.load(spectrum), h));
  v128.store(ping, f32x4.mul(v128.load(spectrum, 16), h), 16);
  spectrum += SAMPLE;
  let below = ping + SAMPLE * (<usize>job.gridRows - 1);
  let above = ping + SAMPLE;
  for (let ky: usize = 1; ky <= halfRows; ky++) {
    h = f32x4.mul(f32x4.mul(lookUp(table, places), columns), v128.load_splat<f32>(job.rowTransfer + 4 * ky));
    places += 8;
    v128.store(above, f32x4.mul(v128.load(spectrum), h));
    v128.store(above, f32x4.mul(v128.load(spectrum, 16), h), 16);
    v128.store(below, f32x4.mul(v128.load(spectrum, 32), h));
    v128.store(below, f32x4.mul(v128.load(spectrum, 48), h), 16);
    spectrum += 2 * SAMPLE;
    above += SAMPLE;
    below -= SAMPLE;
  }
}

/** Spectrum × transfer function, transformed back along y and resampled to the sensor's rows. */
export function blurColumns(job: BlurJob): void {
  const blocks: usize = job.blocks;
  const halfRows: usize = job.halfRows;
  const gridRows: usize = job.gridRows;
  const ping = job.ping;
  const pong = job.pong;
  const lineBytes: usize = job.lineBytes;
  const rowTaps = job.rowTaps;
  const rowGroups: usize = job.imageRows >> 2;
  const zero = f32x4.splat(0);
  for (let block: usize = 0; block < blocks; block++) {
    if (job.transfer != 0) multiplyDirected(job, block);
    else multiplyRadial(job, block);
    let above = ping + SAMPLE * (halfRows + 1);
    const below = ping + SAMPLE * (gridRows - halfRows - 1);
    for (; above <= below; above += SAMPLE) {
      v128.store(above, zero);
      v128.store(above, zero, 16);
    }
    const column = transform(ping, pong, job.planColumns);
    let taps = rowTaps;
    let line = job.lines + 4 * SAMPLE * block;
    for (let group: usize = 0; group < rowGroups; group++) {
      const at0 = column + SAMPLE * load<u32>(taps);
      const at1 = column + SAMPLE * load<u32>(taps, 32);
      const at2 = column + SAMPLE * load<u32>(taps, 64);
      const at3 = column + SAMPLE * load<u32>(taps, 96);
      storeTransposed(
        line,
        sixTaps(at0, SAMPLE, taps),
        sixTaps(at1, SAMPLE, taps + 32),
        sixTaps(at2, SAMPLE, taps + 64),
        sixTaps(at3, SAMPLE, taps + 96),
      );
      storeTransposed(
        line + 16,
        sixTaps(at0 + 16, SAMPLE, taps),
        sixTaps(at1 + 16, SAMPLE, taps + 32),
        sixTaps(at2 + 16, SAMPLE, taps + 64),
        sixTaps(at3 + 16, SAMPLE, taps + 96),
      );
      taps += 128;
      line += lineBytes;
    }
  }
}

// @ts-ignore: decorator
@inline
function storeTransposed(to: usize, a: v128, b: v128, c: v128, d: v128): void {
  const ab = low(a, b);
  const cd = low(c, d);
  const ab2 = high(a, b);
  const cd2 = high(c, d);
  v128.store(to, low64(ab, cd));
  v128.store(to + SAMPLE, high64(ab, cd));
  v128.store(to + 2 * SAMPLE, low64(ab2, cd2));
  v128.store(to + 3 * SAMPLE, high64(ab2, cd2));
}

/** Half-transformed rows to image rows: two real samples ride in one complex sample of a transform of half the length. */
export function blurRows(job: BlurJob): void {
  const half: usize = job.gridColumns >> 1;
  const rowGroups: usize = job.imageRows >> 2;
  const columns: usize = job.imageColumns;
  const imageBytes = 4 * columns;
  const ping = job.ping;
  const unfolding = job.unfolding;
  for (let group: usize = 0; group < rowGroups; group++) {
    const line = job.lines + group * <usize>job.lineBytes;
    let up = line;
    let down = line + SAMPLE * half;
    let to = ping;
    for (let k: usize = 0; k < half; k++) {
      const ar = v128.load(up);
      const ai = v128.load(up, 16);
      const br = v128.load(down);
      const bi = v128.load(down, 16);
      const sumR = f32x4.add(ar, br);
      const sumI = f32x4.sub(ai, bi);
      const difR = f32x4.sub(ar, br);
      const difI = f32x4.add(ai, bi);
      const c = v128.load_splat<f32>(unfolding + 8 * k);
      const s = v128.load_splat<f32>(unfolding + 8 * k, 4);
      v128.store(to, f32x4.sub(sumR, f32x4.add(f32x4.mul(difR, s), f32x4.mul(difI, c))));
      v128.store(to, f32x4.add(sumI, f32x4.sub(f32x4.mul(difR, c), f32x4.mul(difI, s))), 16);
      up += SAMPLE;
      down -= SAMPLE;
      to += SAMPLE;
    }
    const row = transform(ping, job.pong, job.planRows);
    let image = job.image + group * 4 * imageBytes;
    let taps = job.columnTaps;
    for (let column: usize = 0; column < columns; column += 4) {
      const a = sixTaps(row + 16 * <usize>load<u32>(taps), 16, taps);
      const b = sixTaps(row + 16 * <usize>load<u32>(taps, 32), 16, taps + 32);
      const c = sixTaps(row + 16 * <usize>load<u32>(taps, 64), 16, taps + 64);
      const d = sixTaps(row + 16 * <usize>load<u32>(taps, 96), 16, taps + 96);
      const ab = low(a, b);
      const cd = low(c, d);
      const ab2 = high(a, b);
      const cd2 = high(c, d);
      v128.store(image, low64(ab, cd));
      v128.store(image + imageBytes, high64(ab, cd));
      v128.store(image + 2 * imageBytes, low64(ab2, cd2));
      v128.store(image + 3 * imageBytes, high64(ab2, cd2));
      image += 16;
      taps += 128;
    }
  }
}

/** Scene samples to spectrum. Eight rows at a time ride as real and imaginary parts; the transform runs on conjugates. */
export function analyseScene(job: BlurJob): void {
  const gridRows: usize = job.gridRows;
  const n: usize = job.gridColumns;
  const blocks: usize = job.blocks;
  for (let row: usize = 0; row < gridRows; row += 8) {
    let to = job.ping;
    for (let x: usize = 0; x < n; x++) {
      for (let lane: usize = 0; lane < 8; lane++) {
        const y = row + lane;
        const value: f32 = y < gridRows ? load<f32>(job.scene + 4 * (y * n + x)) : 0;
        store<f32>(to + 4 * lane, lane < 4 ? value : -value);
      }
      to += SAMPLE;
    }
    const line = transform(job.ping, job.pong, job.planAnalysis);
    for (let k: usize = 0; k < 4 * blocks; k++) {
      const z = line + SAMPLE * k;
      const mirrored = line + SAMPLE * (k == 0 ? 0 : n - k);
      const to = job.analysis + SAMPLE * (k >> 2) * gridRows + 4 * (k & 3);
      for (let lane: usize = 0; lane < 4; lane++) {
        const zr = load<f32>(z + 4 * lane);
        const zi = -load<f32>(z + 4 * lane, 16);
        const mr = load<f32>(mirrored + 4 * lane);
        const mi = -load<f32>(mirrored + 4 * lane, 16);
        putAnalysis(to, row + lane, gridRows, 0.5 * (zr + mr), 0.5 * (zi - mi));
        putAnalysis(to, row + lane + 4, gridRows, 0.5 * (zi + mi), 0.5 * (mr - zr));
      }
    }
  }
  const scale: f32 = 1 / (<f32>n * <f32>gridRows);
  let spectrum = job.spectrum;
  for (let block: usize = 0; block < blocks; block++) {
    let from = job.analysis + SAMPLE * block * gridRows;
    let to = job.ping;
    for (let y: usize = 0; y < gridRows; y++) {
      v128.store(to, v128.load(from));
      v128.store(to, f32x4.neg(v128.load(from, 16)), 16);
      from += SAMPLE;
      to += SAMPLE;
    }
    const column = transform(job.ping, job.pong, job.planColumns);
    spectrum = putSpectrum(spectrum, column, scale);
    for (let ky: usize = 1; ky <= <usize>job.halfRows; ky++) {
      spectrum = putSpectrum(spectrum, column + SAMPLE * ky, scale);
      spectrum = putSpectrum(spectrum, column + SAMPLE * (gridRows - ky), scale);
    }
  }
}

// @ts-ignore: decorator
@inline
function putAnalysis(block: usize, row: usize, gridRows: usize, real: f32, imaginary: f32): void {
  if (row >= gridRows) return;
  store<f32>(block + SAMPLE * row, real);
  store<f32>(block + SAMPLE * row, imaginary, 16);
}

// @ts-ignore: decorator
@inline
function putSpectrum(to: usize, from: usize, scale: f32): usize {
  const by = f32x4.splat(scale);
  v128.store(to, f32x4.mul(v128.load(from), by));
  v128.store(to, f32x4.neg(f32x4.mul(v128.load(from, 16), by)), 16);
  return to + SAMPLE;
}
