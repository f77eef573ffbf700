// Power spectrum of a region in rings of spatial frequency, in single precision. The readable versions are
// src/image/defocus/ring-spectrum.ts and region-transform.ts.
//
// Rows go eight at a time: four as real, four as imaginary parts of four signals. Their transforms are laid by in blocks of four
// columns, in which the transforms down run. A power is that of u and −u, v and −v together; the sign of the exponent does not matter.

import { SAMPLE, transform } from './fourier';

export function freeFrom(): usize {
  return __heap_base;
}

@unmanaged
class Spectrum {
  widthPx: u32;
  heightPx: u32;
  /** Bytes a grey value. */
  pixelBytes: u32;
  rings: u32;
  /** Grey values row by row; windows (f32) across and down. */
  grey: u32;
  across: u32;
  down: u32;
  planAcross: u32;
  planDown: u32;
  /** Two lines of samples, as long as the longer side. */
  ping: u32;
  pong: u32;
  /** Blocks of four columns: height samples each. */
  columns: u32;
  /** Ring (u8) of every block, v = 0 … height/2, and lane; `rings`: none. And the map for a scene drawn larger or smaller. */
  ringOf: u32;
  scaledRingOf: u32;
  /** Frequency (f32) in the same order. */
  frequencies: u32;
  /** Ring (u8) of a frequency in `fineCount` steps a cycle per pixel. */
  fine: u32;
  fineCount: u32;
  /** For each ring and lane: sums of power and of its square (f64 each); one ring more for none. */
  sums: u32;
  /** Coefficients (f64) in each ring, and one more for none; of the scaled map. */
  counts: u32;
  scaledCounts: u32;
}

/** Mean grey value under the window; the window's sums are 1/`perSum`. */
export function meanUnderWindow(job: Spectrum, perSum: f64): f64 {
  return job.pixelBytes == 1 ? mean<u8>(job, perSum) : mean<u16>(job, perSum);
}

/** Sums of power in each ring, of the grey values less `meanDn`. */
export function ringSums(job: Spectrum, meanDn: f64, isScaled: bool): void {
  if (job.pixelBytes == 1) transformRows<u8>(job, <f32>meanDn);
  else transformRows<u16>(job, <f32>meanDn);
  memory.fill(job.sums, 0, <usize>(job.rings + 1) << 6);
  let ringOf: usize = isScaled ? job.scaledRingOf : job.ringOf;
  const blocks = (job.widthPx >> 3) + 1;
  const blockBytes = SAMPLE * job.heightPx;
  const mapBytes: usize = ((job.heightPx >> 1) + 1) << 2;
  for (let block: u32 = 0; block < blocks; block++) {
    const column = job.columns + blockBytes * block;
    const share = block == 0 ? f32x4(0.5, 1, 1, 1) : block + 1 == blocks ? f32x4(0.5, 0, 0, 0) : f32x4.splat(1);
    sumColumns(transform(column, job.pong, job.planDown), job.heightPx, ringOf, job.sums, share);
    ringOf += mapBytes;
  }
}

/** Map of the rings for a scene drawn `scaleRatio` times as large; the corners stay as they are but for what a smaller one brings there. */
export function scaleRings(job: Spectrum, scaleRatio: f64): void {
  const blocks = (job.widthPx >> 3) + 1;
  const half = job.heightPx >> 1;
  const none = job.rings;
  const corners = none - 1;
  const last = job.fineCount - 1;
  const step = scaleRatio * job.fineCount;
  memory.fill(job.scaledCounts, 0, <usize>(none + 1) << 3);
  let i: usize = 0;
  for (let block: u32 = 0; block < blocks; block++) {
    for (let v: u32 = 0; v <= half; v++) {
      const both: f64 = v == 0 || v == half ? 1 : 2;
      for (let lane: u32 = 0; lane < 4; lane++) {
        let ring: u32 = load<u8>(job.fine + min(last, <u32>(<f64>load<f32>(job.frequencies + (i << 2)) * step + 0.5)));
        if (ring >= corners) ring = load<u8>(job.ringOf + i) == corners ? corners : none;
        const column = (block << 2) + lane;
        if (column > job.widthPx >> 1) ring = none;
        store<u8>(job.scaledRingOf + i, ring);
        const count = job.scaledCounts + (<usize>ring << 3);
        store<f64>(count, load<f64>(count) + (column == 0 || column == job.widthPx >> 1 ? 0.5 * both : both));
        i++;
      }
    }
  }
}

/** Four grey values. */
// @ts-ignore: decorator
@inline
function four<T>(pixels: usize): v128 {
  const wide = sizeof<T>() == 1 ? i16x8.extend_low_i8x16_u(v128.load32_zero(pixels)) : v128.load64_zero(pixels);
  return f32x4.convert_i32x4_u(i32x4.extend_low_i16x8_u(wide));
}

function mean<T>(job: Spectrum, perSum: f64): f64 {
  const width: usize = job.widthPx;
  let pixels: usize = job.grey;
  let total: f64 = 0;
  for (let y: u32 = 0; y < job.heightPx; y++) {
    let sum = f32x4.splat(0);
    let other = f32x4.splat(0);
    for (let x: usize = 0; x < width; x += 8) {
      sum = f32x4.add(sum, f32x4.mul(four<T>(pixels), v128.load(job.across + (x << 2))));
      other = f32x4.add(other, f32x4.mul(four<T>(pixels + 4 * sizeof<T>()), v128.load(job.across + (x << 2), 16)));
      pixels += 8 * sizeof<T>();
    }
    sum = f32x4.add(sum, other);
    const row = <f64>f32x4.extract_lane(sum, 0) + <f64>f32x4.extract_lane(sum, 1) + <f64>f32x4.extract_lane(sum, 2) + <f64>f32x4.extract_lane(sum, 3);
    total += row * <f64>load<f32>(job.down + (<usize>y << 2));
  }
  return total * perSum;
}

// @ts-ignore: decorator
@inline
function windowed<T>(pixels: usize, meanDn: v128, across: v128, down: v128): v128 {
  return f32x4.mul(f32x4.mul(f32x4.sub(four<T>(pixels), meanDn), across), down);
}

// Four rows of four become four columns of four.
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
function lowHalves(a: v128, b: v128): v128 {
  return v128.shuffle<f32>(a, b, 0, 1, 4, 5);
}
// @ts-ignore: decorator
@inline
function highHalves(a: v128, b: v128): v128 {
  return v128.shuffle<f32>(a, b, 2, 3, 6, 7);
}

// @ts-ignore: decorator
@inline
function storeTurned(to: usize, a: v128, b: v128, c: v128, d: v128): void {
  const ab = low(a, b);
  const cd = low(c, d);
  v128.store(to, lowHalves(ab, cd));
  v128.store(to + SAMPLE, highHalves(ab, cd));
  const ab2 = high(a, b);
  const cd2 = high(c, d);
  v128.store(to + 2 * SAMPLE, lowHalves(ab2, cd2));
  v128.store(to + 3 * SAMPLE, highHalves(ab2, cd2));
}

/** Eight rows at a time: windowed, transformed, and taken apart into twice the transforms of the rows, in blocks of four columns. */
function transformRows<T>(job: Spectrum, meanDn: f32): void {
  const width: usize = job.widthPx;
  const rowBytes = width * sizeof<T>();
  const blockBytes = SAMPLE * job.heightPx;
  const level = f32x4.splat(meanDn);
  for (let y: usize = 0; y < job.heightPx; y += 8) {
    const first = job.grey + y * rowBytes;
    for (let part: usize = 0; part < 2; part++) {
      const rows = first + part * 4 * rowBytes;
      const down = job.down + ((y + 4 * part) << 2);
      const down0 = v128.load32_splat(down);
      const down1 = v128.load32_splat(down, 4);
      const down2 = v128.load32_splat(down, 8);
      const down3 = v128.load32_splat(down, 12);
      let to: usize = job.ping + 16 * part;
      for (let x: usize = 0; x < width; x += 4) {
        const across = v128.load(job.across + (x << 2));
        const at = rows + x * sizeof<T>();
        storeTurned(
          to,
          windowed<T>(at, level, across, down0),
          windowed<T>(at + rowBytes, level, across, down1),
          windowed<T>(at + 2 * rowBytes, level, across, down2),
          windowed<T>(at + 3 * rowBytes, level, across, down3),
        );
        to += 4 * SAMPLE;
      }
    }
    const line = transform(job.ping, job.pong, job.planAcross);
    let to = job.columns + SAMPLE * y;
    for (let u: usize = 0; u <= width >> 1; u += 4) {
      // Beyond half the width the columns are those that were; they count for nothing.
      const z = line + SAMPLE * u;
      const m0 = line + SAMPLE * (u == 0 ? 0 : width - u);
      const m1 = line + SAMPLE * (width - u - 1);
      const m2 = m1 - SAMPLE;
      const m3 = m2 - SAMPLE;
      const r0 = v128.load(z), r1 = v128.load(z + SAMPLE), r2 = v128.load(z + 2 * SAMPLE), r3 = v128.load(z + 3 * SAMPLE);
      const n0 = v128.load(m0), n1 = v128.load(m1), n2 = v128.load(m2), n3 = v128.load(m3);
      storeTurned(to, f32x4.add(r0, n0), f32x4.add(r1, n1), f32x4.add(r2, n2), f32x4.add(r3, n3));
      storeTurned(to + 4 * SAMPLE + 16, f32x4.sub(n0, r0), f32x4.sub(n1, r1), f32x4.sub(n2, r2), f32x4.sub(n3, r3));
      const i0 = v128.load(z, 16), i1 = v128.load(z + SAMPLE, 16), i2 = v128.load(z + 2 * SAMPLE, 16), i3 = v128.load(z + 3 * SAMPLE, 16);
      const j0 = v128.load(m0, 16), j1 = v128.load(m1, 16), j2 = v128.load(m2, 16), j3 = v128.load(m3, 16);
      storeTurned(to + 16, f32x4.sub(i0, j0), f32x4.sub(i1, j1), f32x4.sub(i2, j2), f32x4.sub(i3, j3));
      storeTurned(to + 4 * SAMPLE, f32x4.add(i0, j0), f32x4.add(i1, j1), f32x4.add(i2, j2), f32x4.add(i3, j3));
      to += blockBytes;
    }
  }
}

// @ts-ignore: decorator
@inline
function powerOf(sample: usize): v128 {
  const re = v128.load(sample);
  const im = v128.load(sample, 16);
  return f32x4.add(f32x4.mul(re, re), f32x4.mul(im, im));
}

/** Powers of four columns, v and −v together, into the rings' sums. */
function sumColumns(line: usize, height: usize, ringOf: usize, sums: usize, share: v128): void {
  const half = height >> 1;
  for (let v: usize = 0; v <= half; v++) {
    let power = powerOf(line + SAMPLE * v);
    let square = f32x4.mul(power, power);
    if (v != 0 && v != half) {
      const mirrored = powerOf(line + SAMPLE * (height - v));
      power = f32x4.add(power, mirrored);
      square = f32x4.add(square, f32x4.mul(mirrored, mirrored));
    }
    power = f32x4.mul(power, share);
    square = f32x4.mul(square, share);
    const first = low(power, square);
    const last = high(power, square);
    addTo(sums + (<usize>load<u8>(ringOf) << 6), first);
    addTo(sums + (<usize>load<u8>(ringOf, 1) << 6) + 16, highHalves(first, first));
    addTo(sums + (<usize>load<u8>(ringOf, 2) << 6) + 32, last);
    addTo(sums + (<usize>load<u8>(ringOf, 3) << 6) + 48, highHalves(last, last));
    ringOf += 4;
  }
}

// @ts-ignore: decorator
@inline
function addTo(sum: usize, pair: v128): void {
  v128.store(sum, f64x2.add(v128.load(sum), f64x2.promote_low_f32x4(pair)));
}
