// Weighted sums of scaled frames, for some rows of the picture. The readable version is src/image/stack/fuse-frames.ts.

/** Side of the tiles that are skipped where a frame is out of focus. */
const TILE: i32 = 8;

/**
 * Focal power of the pixels of rows from … to − 1, read linearly between the middles of blocks. first, share: of each column,
 * the block before it (i32) and how far it lies from there (f32). line: scratch of columns + 4 f32.
 */
export function pixelPowers(blocks: usize, columns: i32, rows: i32, blockPx: i32, first: usize, share: usize, width: i32, from: i32, to: i32, line: usize, out: usize): void {
  for (let y = from; y < to; y++) {
    const place: f64 = min<f64>(max<f64>((<f64>y + 0.5) / <f64>blockPx - 0.5, 0), <f64>(rows - 1));
    const row = min(<i32>place, rows - 2);
    const v = <f32>(place - <f64>row);
    const upper = blocks + (<usize>(row * columns) << 2);
    const lower = upper + (<usize>columns << 2);
    const ownShare = f32x4.splat(1 - v);
    const otherShare = f32x4.splat(v);
    for (let at: usize = 0; at < <usize>columns << 2; at += 16) {
      v128.store(line + at, f32x4.add(f32x4.mul(ownShare, v128.load(upper + at)), f32x4.mul(otherShare, v128.load(lower + at))));
    }
    const start = out + (<usize>((y - from) * width) << 2);
    for (let x: usize = 0; x < <usize>width << 2; x += 4) {
      const at = line + (<usize>load<i32>(first + x) << 2);
      const a = load<f32>(at);
      store<f32>(start + x, a + load<f32>(share + x) * (load<f32>(at + 4) - a));
    }
  }
}

/** Smallest and largest power of each tile of 8 × 8 pixels. */
export function tileRange(powers: usize, width: i32, rows: i32, lows: usize, highs: usize): void {
  const across = (width + TILE - 1) / TILE;
  for (let y0 = 0; y0 < rows; y0 += TILE) {
    for (let tile = 0; tile < across; tile++) {
      const x0 = tile * TILE;
      let low: f32 = f32.MAX_VALUE;
      let high: f32 = -f32.MAX_VALUE;
      for (let y = y0; y < min(y0 + TILE, rows); y++) {
        const row = powers + (<usize>(y * width) << 2);
        for (let x = x0; x < min(x0 + TILE, width); x++) {
          const value = load<f32>(row + (<usize>x << 2));
          low = min(low, value);
          high = max(high, value);
        }
      }
      const at = <usize>(y0 / TILE * across + tile) << 2;
      store<f32>(lows + at, low);
      store<f32>(highs + at, high);
    }
  }
}

/**
 * Adds weight · frame and weight to the running sums of rows from … to − 1. The frame is read at centre + scale · (position −
 * centre) by cubic convolution (Keys, a = −1/2); its weight is (1 − (d/h)²)² with d = power of the pixel − power.
 * grey: rows of the frame (u8, or u16 where `wide`) from firstRow on, as many as are read; line: scratch of width + 16 f32, and before
 * and behind it as many as the frame's scale can reach beyond its rim, and 8.
 */
export function fuseRows(
  grey: usize, wide: bool, width: i32, height: i32, firstRow: i32, powers: usize, lows: usize, highs: usize, from: i32, to: i32,
  power: f32, halfWidth: f32, scale: f64, line: usize, sum: usize, weights: usize,
): void {
  const across = (width + TILE - 1) / TILE;
  for (let y0 = from; y0 < to; y0 += TILE) {
    const tiles = <usize>((y0 - from) / TILE * across) << 2;
    let begin = -1;
    for (let tile = 0; tile <= across; tile++) {
      let sharp = false;
      if (tile < across) {
        const at = tiles + (<usize>tile << 2);
        sharp = load<f32>(lows + at) - power < halfWidth && power - load<f32>(highs + at) < halfWidth;
      }
      if (sharp && begin < 0) begin = tile;
      if (sharp || begin < 0) continue;
      for (let y = y0; y < min(y0 + TILE, to); y++) {
        const row = <usize>((y - from) * width) << 2;
        fuseRun(grey, wide, width, height, firstRow, y, begin * TILE, min(tile * TILE, width), powers + row, power, halfWidth, scale, line, sum + row, weights + row);
      }
      begin = -1;
    }
  }
}

/** The pixels x0 … x1 − 1 of row y. */
function fuseRun(
  grey: usize, wide: bool, width: i32, height: i32, firstRow: i32, y: i32, x0: i32, x1: i32, powers: usize, power: f32, halfWidth: f32,
  scale: f64, line: usize, sum: usize, weights: usize,
): void {
  const middleX: f64 = <f64>(width - 1) / 2;
  const middleY: f64 = <f64>(height - 1) / 2;
  const fromY = middleY + scale * (<f64>y - middleY);
  const rowY = <i32>Math.floor(fromY);
  const c0 = <i32>Math.floor(middleX + scale * (<f64>x0 - middleX)) - 1;
  const c1 = <i32>Math.floor(middleX + scale * (<f64>(x1 - 1) - middleX)) + 3;
  readDown(grey, wide, width, height, firstRow, rowY, <f32>(fromY - <f64>rowY), c0, c1, line);
  const wanted = f32x4.splat(power);
  const inverse = f32x4.splat(1 / halfWidth);
  const one = f32x4.splat(1);
  const none = f32x4.splat(0);
  const steps = f32x4.mul(f32x4(0, 1, 2, 3), f32x4.splat(<f32>(scale - 1)));
  let x = x0;
  for (; x + 4 <= x1; x += 4) {
    const at = <usize>x << 2;
    const d = f32x4.mul(f32x4.sub(v128.load(powers + at), wanted), inverse);
    const room = f32x4.max(none, f32x4.sub(one, f32x4.mul(d, d)));
    if (!v128.any_true(room)) continue;
    const fromX = middleX + scale * (<f64>x - middleX);
    const column = <i32>Math.floor(fromX);
    const weight = f32x4.mul(room, room);
    let value: v128;
    if (<i32>Math.floor(middleX + scale * (<f64>(x + 3) - middleX)) - column == 3) {
      const here = line + (<usize>column << 2);
      const t = f32x4.add(f32x4.splat(<f32>(fromX - <f64>column)), steps);
      value = cubicOf(t, v128.load(here - 4), v128.load(here), v128.load(here + 4), v128.load(here + 8));
    } else {
      value = f32x4.splat(readAcross(line, middleX, scale, x));
      value = f32x4.replace_lane(value, 1, readAcross(line, middleX, scale, x + 1));
      value = f32x4.replace_lane(value, 2, readAcross(line, middleX, scale, x + 2));
      value = f32x4.replace_lane(value, 3, readAcross(line, middleX, scale, x + 3));
    }
    v128.store(sum + at, f32x4.add(v128.load(sum + at), f32x4.mul(weight, value)));
    v128.store(weights + at, f32x4.add(v128.load(weights + at), weight));
  }
  for (; x < x1; x++) {
    const at = <usize>x << 2;
    const d = (load<f32>(powers + at) - power) / halfWidth;
    const room: f32 = 1 - d * d;
    if (!(room > 0)) continue;
    store<f32>(sum + at, load<f32>(sum + at) + room * room * readAcross(line, middleX, scale, x));
    store<f32>(weights + at, load<f32>(weights + at) + room * room);
  }
}

function readAcross(line: usize, middleX: f64, scale: f64, x: i32): f32 {
  const fromX = middleX + scale * (<f64>x - middleX);
  const column = <i32>Math.floor(fromX);
  const here = line + (<usize>column << 2);
  const t = <f32>(fromX - <f64>column);
  const a = load<f32>(here - 4);
  const b = load<f32>(here);
  const c = load<f32>(here + 4);
  const d = load<f32>(here + 8);
  return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
}

// @ts-ignore: decorator of the compiler
@inline
function cubicOf(t: v128, a: v128, b: v128, c: v128, d: v128): v128 {
  const cubed = f32x4.add(f32x4.mul(f32x4.splat(3), f32x4.sub(b, c)), f32x4.sub(d, a));
  const twice = f32x4.add(f32x4.sub(f32x4.mul(f32x4.splat(4), c), f32x4.mul(f32x4.splat(5), b)), f32x4.sub(f32x4.add(a, a), d));
  const inner = f32x4.add(f32x4.sub(c, a), f32x4.mul(t, f32x4.add(twice, f32x4.mul(t, cubed))));
  return f32x4.add(b, f32x4.mul(f32x4.mul(f32x4.splat(0.5), t), inner));
}

/** Columns c0 … c1 of a line between rows, as f32 at line[c0] … line[c1]; beyond the frame its rim goes on. */
function readDown(grey: usize, wide: bool, width: i32, height: i32, firstRow: i32, row: i32, t: f32, c0: i32, c1: i32, line: usize): void {
  const bytes = wide ? 1 : 0;
  const rowOf = (<usize>width) << bytes;
  const r0 = grey + <usize>(clampTo(row - 1, height) - firstRow) * rowOf;
  const r1 = grey + <usize>(clampTo(row, height) - firstRow) * rowOf;
  const r2 = grey + <usize>(clampTo(row + 1, height) - firstRow) * rowOf;
  const r3 = grey + <usize>(clampTo(row + 2, height) - firstRow) * rowOf;
  const w0 = f32x4.splat(0.5 * t * (-1 + t * (2 - t)));
  const w1 = f32x4.splat(1 + 0.5 * t * t * (3 * t - 5));
  const w2 = f32x4.splat(0.5 * t * (1 + t * (4 - 3 * t)));
  const w3 = f32x4.splat(0.5 * t * t * (t - 1));
  const first = max(c0, 0);
  const last = min(c1, width - 1);
  for (let c = first; c <= last; c += 8) {
    const at = <usize>c << bytes;
    const g0 = eight(r0 + at, wide);
    const g1 = eight(r1 + at, wide);
    const g2 = eight(r2 + at, wide);
    const g3 = eight(r3 + at, wide);
    const to = line + (<usize>c << 2);
    v128.store(to, f32x4.add(
      f32x4.add(f32x4.mul(w0, lowOf(g0)), f32x4.mul(w1, lowOf(g1))),
      f32x4.add(f32x4.mul(w2, lowOf(g2)), f32x4.mul(w3, lowOf(g3)))));
    v128.store(to + 16, f32x4.add(
      f32x4.add(f32x4.mul(w0, highOf(g0)), f32x4.mul(w1, highOf(g1))),
      f32x4.add(f32x4.mul(w2, highOf(g2)), f32x4.mul(w3, highOf(g3)))));
  }
  for (let c = c0; c < 0; c++) store<f32>(line + (<isize>c << 2), load<f32>(line));
  for (let c = max(width, c0); c <= c1; c++) store<f32>(line + (<usize>c << 2), load<f32>(line + (<usize>(width - 1) << 2)));
}

// @ts-ignore: decorator of the compiler
@inline
function eight(at: usize, wide: bool): v128 {
  return wide ? v128.load(at) : i16x8.extend_low_i8x16_u(v128.load64_zero(at));
}

// @ts-ignore: decorator of the compiler
@inline
function lowOf(grey: v128): v128 {
  return f32x4.convert_i32x4_u(i32x4.extend_low_i16x8_u(grey));
}

// @ts-ignore: decorator of the compiler
@inline
function highOf(grey: v128): v128 {
  return f32x4.convert_i32x4_u(i32x4.extend_high_i16x8_u(grey));
}

// @ts-ignore: decorator of the compiler
@inline
function clampTo(value: i32, count: i32): i32 {
  return max(0, min(count - 1, value));
}

/** sum/weight as whole grey values 0 … top (u8, or u16 where `wide`), 0 where nothing was added. Writes up to 7 values beyond. */
export function settle(sum: usize, weights: usize, count: i32, top: f32, wide: bool, out: usize): void {
  const most = f32x4.splat(top);
  const half = f32x4.splat(0.5);
  for (let i = 0; i < count; i += 8) {
    const at = <usize>i << 2;
    const low = quotient(sum + at, weights + at, most, half);
    const high = quotient(sum + at + 16, weights + at + 16, most, half);
    const words = i16x8.narrow_i32x4_u(low, high);
    if (wide) v128.store(out + (<usize>i << 1), words);
    else v128.store64_lane(out + <usize>i, i8x16.narrow_i16x8_u(words, words), 0);
  }
}

// @ts-ignore: decorator of the compiler
@inline
function quotient(sum: usize, weights: usize, most: v128, half: v128): v128 {
  const w = v128.load(weights);
  const value = f32x4.floor(f32x4.add(half, f32x4.div(v128.load(sum), w)));
  return i32x4.trunc_sat_f32x4_u(v128.and(f32x4.gt(w, f32x4.splat(0)), f32x4.min(most, f32x4.max(f32x4.splat(0), value))));
}
