// Integer sums behind the focus measures, over a strip of rows, without intermediate pictures. The readable version with the
// same results is src/image/focus-measures/focus-sums.ts.
//
// Work goes in tiles of 64 × 32 px, down the columns, so that a row's values stay in registers for the next row. Within a
// tile no 32-bit sum can overflow.

const tileColumns: u32 = 64;
const tileRows: u32 = 32;
/** Where grey values of a tile differ by no more than this, a 3 × 3 filter fits 16 bit, also in wrapped arithmetic, and the
 *  squares of four rows fit 32 bit. */
const narrowSpread: u32 = 4095;

enum Sum {
  laplacian,
  laplacianSquares,
  sobelSquares,
  forwardSquares,
  twoApartXSquares,
  twoApartYSquares,
  secondDifferences,
  lagProducts,
  values,
  valueSquares,
  haarDetails,
  dctRatios,
}

@unmanaged
class Strip {
  /** Address of the first pixel that has a term; neighbours lie around it. */
  pixels: u32;
  /** Bytes from one row to the next. */
  stride: u32;
  /** Pixels that have a term. */
  columns: u32;
  rows: u32;
  /** 1 or 2. */
  pixelBytes: u32;
  /** 1: no grey value exceeds narrowSpread. */
  narrow: u32;
  /** Result, low and high half. */
  total: i64;
}

/** First free byte: the caller lays out memory from here on. */
export function freeFrom(): usize {
  return __heap_base;
}

export function sumStrip(kind: u32, strip: Strip): void {
  if (kind == <u32>Sum.laplacian) {
    strip.total = strip.pixelBytes == 1 ? laplacianTotal<u8>(strip) : laplacianTotal<u16>(strip);
    return;
  }
  strip.total = strip.pixelBytes == 1 ? sumTiles<u8>(kind, strip) : sumTiles<u16>(kind, strip);
}

/** Sum of the Laplacian: inner terms cancel, the two outermost rows and columns at each side are left. */
function laplacianTotal<T>(strip: Strip): i64 {
  const stride: usize = strip.stride;
  if (strip.rows == 0) return 0;
  const last = strip.pixels + (strip.rows - 1) * strip.stride;
  let total = rowTotal<T>(strip.pixels - stride, strip.columns) - rowTotal<T>(strip.pixels, strip.columns);
  total += rowTotal<T>(last + stride, strip.columns) - rowTotal<T>(last, strip.columns);
  let left: usize = strip.pixels;
  const across: usize = (strip.columns - 1) * sizeof<T>();
  for (let y: u32 = 0; y < strip.rows; y++) {
    const right = left + across;
    total += <i64>load<T>(left - sizeof<T>()) - <i64>load<T>(left) + <i64>load<T>(right, sizeof<T>()) - <i64>load<T>(right);
    left += stride;
  }
  return total;
}

function rowTotal<T>(p: usize, columns: u32): i64 {
  const whole = columns & ~7;
  let total: i64 = 0;
  for (let x: u32 = 0; x < whole; x += 4096) total += values<T>(p + x * sizeof<T>(), 0, min<u32>(4096, whole - x) >> 3, 1);
  for (let x = whole; x < columns; x++) total += <i64>load<T>(p + x * sizeof<T>());
  return total;
}

function sumTiles<T>(kind: u32, strip: Strip): i64 {
  const stride: usize = strip.stride;
  const columns = strip.columns & (sizeof<T>() == 1 ? ~15 : ~7);
  let total: i64 = 0;
  for (let y: u32 = 0; y < strip.rows; y += tileRows) {
    const row: usize = strip.pixels + y * strip.stride;
    const rows: usize = min(tileRows, strip.rows - y);
    for (let x: u32 = 0; x < columns; x += tileColumns) {
      total += tile<T>(kind, row + x * sizeof<T>(), stride, min(tileColumns, columns - x) >> 3, rows, strip.narrow);
    }
  }
  if (columns < strip.columns) total += rest<T>(kind, strip.pixels + columns * sizeof<T>(), stride, strip.columns - columns, strip.rows);
  return total;
}

function tile<T>(kind: u32, p: usize, stride: usize, vectors: usize, rows: usize, narrow: u32): i64 {
  switch (kind) {
    case Sum.laplacianSquares:
      if (sizeof<T>() == 1) return laplacian8(p, stride, vectors >> 1, rows);
      if (narrow || isNarrow(p, stride, vectors, rows)) return <i64>laplacian16<Unchecked>(p, stride, vectors, rows);
      if (way == Way.checked) {
        const total = laplacian16<Checked>(p, stride, vectors, rows);
        if (total != tooLarge) return <i64>total;
        takeWide();
      }
      return laplacianWide(p, stride, vectors, rows);
    case Sum.sobelSquares:
      if (sizeof<T>() == 1) return sobel8(p, stride, vectors >> 1, rows);
      if (narrow || isNarrow(p, stride, vectors, rows)) return <i64>sobel16<Unchecked>(p, stride, vectors, rows);
      if (way == Way.checked) {
        const total = sobel16<Checked>(p, stride, vectors, rows);
        if (total != tooLarge) return <i64>total;
        takeWide();
      }
      return sobelWide(p, stride, vectors, rows);
    case Sum.forwardSquares:
      return differences<T>(p, stride, vectors, rows, sizeof<T>()) + differences<T>(p, stride, vectors, rows, stride);
    case Sum.twoApartXSquares:
      return differences<T>(p, stride, vectors, rows, 2 * sizeof<T>());
    case Sum.twoApartYSquares:
      return differences<T>(p, stride, vectors, rows, 2 * stride);
    case Sum.secondDifferences:
      return secondDifferences<T>(p, stride, vectors, rows);
    case Sum.lagProducts:
      return lagProducts<T>(p, stride, vectors, rows);
    case Sum.values:
      return values<T>(p, stride, vectors, rows);
    case Sum.haarDetails:
      return haarDetails<T>(p, stride, vectors, rows);
    case Sum.dctRatios:
      return dctRatios<T>(p, stride, vectors, rows);
    default:
      return valueSquares<T>(p, stride, vectors, rows);
  }
}

/** Eight pixels as 16-bit numbers. */
// @ts-ignore: decorator
@inline
function at<T>(p: usize): v128 {
  return sizeof<T>() == 1 ? v128.load8x8_u(p) : v128.load(p);
}

/** Sum of four 32-bit lanes without sign. */
function lanes(sum: v128): u64 {
  return (
    <u64>i32x4.extract_lane(sum, 0) & 0xffffffff) +
    (<u64>i32x4.extract_lane(sum, 1) & 0xffffffff) +
    (<u64>i32x4.extract_lane(sum, 2) & 0xffffffff) +
    (<u64>i32x4.extract_lane(sum, 3) & 0xffffffff);
}

/** How a tile of 16-bit pixels is taken. Each way is right for every tile that it takes; they differ in speed. */
enum Way {
  /** Grey values lie near each other: 16-bit arithmetic is enough. */
  narrow,
  /** Filtered values are small, though grey values are not: 16-bit arithmetic, with a check of every value. */
  checked,
  /** Whatever comes: high and low bytes apart. */
  wide,
}

/** What worked is tried first for so many further tiles. */
const tilesAlike: u32 = 7;
let tilesLeft: u32 = 0;
let way: Way = Way.narrow;
/** Says that a check failed: no sum of a tile is so large. */
const tooLarge: u64 = u64.MAX_VALUE;

/** Whether a tile's grey values lie near each other; else `way` says how to take it. */
// @ts-ignore: decorator
@inline
function isNarrow(p: usize, stride: usize, vectors: usize, rows: usize): bool {
  if (tilesLeft > 0) {
    tilesLeft--;
    return false;
  }
  if (spread(p, stride, vectors, rows) <= narrowSpread) return true;
  way = Way.checked;
  tilesLeft = tilesAlike;
  return false;
}

function takeWide(): void {
  way = Way.wide;
  tilesLeft = tilesAlike;
}

/** Largest difference of two grey values of a tile with its neighbours. */
function spread(p: usize, stride: usize, vectors: usize, rows: usize): u32 {
  let low = i16x8.splat(-1);
  let high = i16x8.splat(0);
  for (let y: usize = 0; y < rows + 2; y++) {
    let q = p + y * stride - stride - 2;
    for (let k: usize = 0; k <= vectors; k++) {
      const value = v128.load(q);
      low = i16x8.min_u(low, value);
      high = i16x8.max_u(high, value);
      q += 16;
    }
  }
  let least: u32 = 65535;
  let most: u32 = 0;
  v128.store(scratch, low);
  v128.store(scratch, high, 16);
  for (let lane: usize = 0; lane < 16; lane += 2) {
    least = min(least, <u32>load<u16>(scratch + lane));
    most = max(most, <u32>load<u16>(scratch + lane, 16));
  }
  return most - least;
}

const scratch = memory.data(32);

// 8 bit: of each row, sixteen pixels as A = I(−1, 1 … 13), E = I(0, 2 … 14), O = I(1, 3 … 15), B = I(2, 4 … 16) in 16-bit lanes,
// from two loads. A tile's sums fit 32 bit.

/** Lower bytes: A of the left load, O of the right one. */
// @ts-ignore: decorator
@inline
function lower(bytes: v128): v128 {
  return v128.and(bytes, i16x8.splat(255));
}

/** Upper bytes: E of the left load, B of the right one. */
// @ts-ignore: decorator
@inline
function upper(bytes: v128): v128 {
  return i16x8.shr_u(bytes, 8);
}

function laplacian8(p: usize, stride: usize, blocks: usize, rows: usize): u64 {
  let sum = i32x4.splat(0);
  for (let k: usize = 0; k < blocks; k++) {
    let q = p + 16 * k - 1 - stride;
    let even0 = upper(v128.load(q));
    let odd0 = lower(v128.load(q, 2));
    q += stride;
    let left = v128.load(q);
    let right = v128.load(q, 2);
    let even1 = upper(left);
    let odd1 = lower(right);
    for (let y: usize = 0; y < rows; y++) {
      const evenSides = i16x8.add(lower(left), odd1);
      const oddSides = i16x8.add(upper(right), even1);
      q += stride;
      left = v128.load(q);
      right = v128.load(q, 2);
      const even2 = upper(left);
      const odd2 = lower(right);
      const e = i16x8.sub(i16x8.add(i16x8.add(even0, even2), evenSides), i16x8.shl(even1, 2));
      const o = i16x8.sub(i16x8.add(i16x8.add(odd0, odd2), oddSides), i16x8.shl(odd1, 2));
      sum = i32x4.add(sum, i32x4.add(i32x4.dot_i16x8_s(e, e), i32x4.dot_i16x8_s(o, o)));
      even0 = even1;
      odd0 = odd1;
      even1 = even2;
      odd1 = odd2;
    }
  }
  return lanes(sum);
}

// @ts-ignore: decorator
@inline
function squared(filtered: v128): v128 {
  return i32x4.dot_i16x8_s(filtered, filtered);
}

function sobel8(p: usize, stride: usize, blocks: usize, rows: usize): u64 {
  let sum = i32x4.splat(0);
  for (let k: usize = 0; k < blocks; k++) {
    let q = p + 16 * k - 1 - stride;
    // Of a row: sum 1 2 1 across and difference across; of two rows: their differences added.
    let left = v128.load(q);
    let right = v128.load(q, 2);
    let middle = i16x8.add(upper(left), lower(right));
    let evenSmooth0 = i16x8.add(i16x8.add(lower(left), upper(left)), middle);
    let oddSmooth0 = i16x8.add(i16x8.add(lower(right), upper(right)), middle);
    let evenPair = i16x8.sub(lower(right), lower(left));
    let oddPair = i16x8.sub(upper(right), upper(left));
    q += stride;
    left = v128.load(q);
    right = v128.load(q, 2);
    middle = i16x8.add(upper(left), lower(right));
    let evenSmooth1 = i16x8.add(i16x8.add(lower(left), upper(left)), middle);
    let oddSmooth1 = i16x8.add(i16x8.add(lower(right), upper(right)), middle);
    let evenAcross = i16x8.sub(lower(right), lower(left));
    let oddAcross = i16x8.sub(upper(right), upper(left));
    evenPair = i16x8.add(evenPair, evenAcross);
    oddPair = i16x8.add(oddPair, oddAcross);
    for (let y: usize = 0; y < rows; y++) {
      q += stride;
      left = v128.load(q);
      right = v128.load(q, 2);
      const a = lower(left);
      const e = upper(left);
      const o = lower(right);
      const b = upper(right);
      middle = i16x8.add(e, o);
      const evenSmooth2 = i16x8.add(i16x8.add(a, e), middle);
      const oddSmooth2 = i16x8.add(i16x8.add(o, b), middle);
      const evenAcross2 = i16x8.sub(o, a);
      const oddAcross2 = i16x8.sub(b, e);
      const evenPair2 = i16x8.add(evenAcross, evenAcross2);
      const oddPair2 = i16x8.add(oddAcross, oddAcross2);
      sum = i32x4.add(sum, squared(i16x8.add(evenPair, evenPair2)));
      sum = i32x4.add(sum, squared(i16x8.add(oddPair, oddPair2)));
      sum = i32x4.add(sum, squared(i16x8.sub(evenSmooth2, evenSmooth0)));
      sum = i32x4.add(sum, squared(i16x8.sub(oddSmooth2, oddSmooth0)));
      evenSmooth0 = evenSmooth1;
      oddSmooth0 = oddSmooth1;
      evenSmooth1 = evenSmooth2;
      oddSmooth1 = oddSmooth2;
      evenAcross = evenAcross2;
      oddAcross = oddAcross2;
      evenPair = evenPair2;
      oddPair = oddPair2;
    }
  }
  return lanes(sum);
}

// 16 bit, small filtered values: four rows' squares fit 32 bit without sign; then they are split into two sums of 16-bit halves.
// Wrapped arithmetic gives the filtered value itself while that is at most 16380. Rounded means, which cannot
// overflow, tell in the checked version whether it is.

const mostQuarter: u32 = 4094;
/** Two versions of one function, told apart by the size of a type. */
type Unchecked = u8;
type Checked = u16;

/** Of two vectors without sign. */
// @ts-ignore: decorator
@inline
function apart(a: v128, b: v128): v128 {
  return v128.or(i16x8.sub_sat_u(a, b), i16x8.sub_sat_u(b, a));
}

function isBeyond(values: v128, most: u32): bool {
  return v128.any_true(i16x8.gt_u(values, i16x8.splat(<i16>most)));
}

function laplacian16<Check>(p: usize, stride: usize, vectors: usize, rows: usize): u64 {
  const low16 = i32x4.splat(0xffff);
  let low = i32x4.splat(0);
  let high = i32x4.splat(0);
  let largest = i16x8.splat(0);
  for (let k: usize = 0; k < vectors; k++) {
    let q = p + 16 * k - 2 - stride;
    let above = v128.load(q, 2);
    q += stride;
    let here = v128.load(q, 2);
    let left = v128.load(q);
    let right = v128.load(q, 4);
    for (let y: usize = 0; y < rows; y += 4) {
      let squares = i32x4.splat(0);
      const turns = min<usize>(4, rows - y);
      for (let j: usize = 0; j < turns; j++) {
        q += stride;
        const below = v128.load(q, 2);
        const l = i16x8.sub(i16x8.add(i16x8.add(above, below), i16x8.add(left, right)), i16x8.shl(here, 2));
        if (sizeof<Check>() == sizeof<Checked>()) {
          // A quarter of the Laplacian, at most 1 off.
          const mean = i16x8.avgr_u(i16x8.avgr_u(above, below), i16x8.avgr_u(left, right));
          largest = i16x8.max_u(largest, apart(mean, here));
        }
        squares = i32x4.add(squares, i32x4.dot_i16x8_s(l, l));
        left = v128.load(q);
        right = v128.load(q, 4);
        above = here;
        here = below;
      }
      low = i32x4.add(low, v128.and(squares, low16));
      high = i32x4.add(high, i32x4.shr_u(squares, 16));
    }
  }
  if (sizeof<Check>() == sizeof<Checked>() && isBeyond(largest, mostQuarter)) return tooLarge;
  return lanes(low) + (lanes(high) << 16);
}

function sobel16<Check>(p: usize, stride: usize, vectors: usize, rows: usize): u64 {
  const low16 = i32x4.splat(0xffff);
  let low = i32x4.splat(0);
  let high = i32x4.splat(0);
  let largest = i16x8.splat(0);
  for (let k: usize = 0; k < vectors; k++) {
    let q = p + 16 * k - 2 - stride;
    let smooth0 = smooth16(q);
    let quarter0 = sizeof<Check>() == sizeof<Checked>() ? quarter16(q) : smooth0;
    let across = i16x8.sub(v128.load(q, 4), v128.load(q));
    if (sizeof<Check>() == sizeof<Checked>()) largest = i16x8.max_u(largest, apart(v128.load(q, 4), v128.load(q)));
    q += stride;
    let smooth1 = smooth16(q);
    let quarter1 = sizeof<Check>() == sizeof<Checked>() ? quarter16(q) : smooth1;
    let across1 = i16x8.sub(v128.load(q, 4), v128.load(q));
    if (sizeof<Check>() == sizeof<Checked>()) largest = i16x8.max_u(largest, apart(v128.load(q, 4), v128.load(q)));
    let pair = i16x8.add(across, across1);
    for (let y: usize = 0; y < rows; y += 4) {
      let squares = i32x4.splat(0);
      const turns = min<usize>(4, rows - y);
      for (let j: usize = 0; j < turns; j++) {
        q += stride;
        const left = v128.load(q);
        const middle = v128.load(q, 2);
        const right = v128.load(q, 4);
        const smooth2 = i16x8.add(i16x8.add(left, right), i16x8.shl(middle, 1));
        const across2 = i16x8.sub(right, left);
        if (sizeof<Check>() == sizeof<Checked>()) {
          // A quarter of each filtered value, at most 1 off, or more than it.
          const quarter2 = i16x8.avgr_u(i16x8.avgr_u(left, right), middle);
          largest = i16x8.max_u(largest, i16x8.max_u(apart(right, left), apart(quarter2, quarter0)));
          quarter0 = quarter1;
          quarter1 = quarter2;
        }
        const pair2 = i16x8.add(across1, across2);
        const gx = i16x8.add(pair, pair2);
        const gy = i16x8.sub(smooth2, smooth0);
        squares = i32x4.add(squares, i32x4.add(i32x4.dot_i16x8_s(gx, gx), i32x4.dot_i16x8_s(gy, gy)));
        smooth0 = smooth1;
        smooth1 = smooth2;
        across1 = across2;
        pair = pair2;
      }
      low = i32x4.add(low, v128.and(squares, low16));
      high = i32x4.add(high, i32x4.shr_u(squares, 16));
    }
  }
  if (sizeof<Check>() == sizeof<Checked>() && isBeyond(largest, mostQuarter)) return tooLarge;
  return lanes(low) + (lanes(high) << 16);
}

/** A quarter of 1 2 1 across, rounded; `q` one pixel to the left. */
// @ts-ignore: decorator
@inline
function quarter16(q: usize): v128 {
  return i16x8.avgr_u(i16x8.avgr_u(v128.load(q), v128.load(q, 4)), v128.load(q, 2));
}

/** 1 2 1 across; `q` one pixel to the left. */
// @ts-ignore: decorator
@inline
function smooth16(q: usize): v128 {
  return i16x8.add(i16x8.add(v128.load(q), v128.load(q, 4)), i16x8.shl(v128.load(q, 2), 1));
}

// Full 16-bit range: a pixel is 256·h + l, so a filter's square is 65536·H² + 512·H·L + L², each sum of a tile in 32 bit.

function laplacianWide(p: usize, stride: usize, vectors: usize, rows: usize): i64 {
  const byte = i16x8.splat(255);
  let hh = i32x4.splat(0);
  let hl = i32x4.splat(0);
  let ll = i32x4.splat(0);
  for (let k: usize = 0; k < vectors; k++) {
    let q = p + 16 * k - 2 - stride;
    let value = v128.load(q, 2);
    let upAbove = i16x8.shr_u(value, 8);
    let lowAbove = v128.and(value, byte);
    q += stride;
    value = v128.load(q, 2);
    let up = i16x8.shr_u(value, 8);
    let lower = v128.and(value, byte);
    let left = v128.load(q);
    let right = v128.load(q, 4);
    let upSides = i16x8.add(i16x8.shr_u(left, 8), i16x8.shr_u(right, 8));
    let lowSides = i16x8.add(v128.and(left, byte), v128.and(right, byte));
    for (let y: usize = 0; y < rows; y++) {
      q += stride;
      value = v128.load(q, 2);
      const upBelow = i16x8.shr_u(value, 8);
      const lowBelow = v128.and(value, byte);
      const h = i16x8.sub(i16x8.add(i16x8.add(upAbove, upBelow), upSides), i16x8.shl(up, 2));
      const l = i16x8.sub(i16x8.add(i16x8.add(lowAbove, lowBelow), lowSides), i16x8.shl(lower, 2));
      hh = i32x4.add(hh, i32x4.dot_i16x8_s(h, h));
      hl = i32x4.add(hl, i32x4.dot_i16x8_s(h, l));
      ll = i32x4.add(ll, i32x4.dot_i16x8_s(l, l));
      left = v128.load(q);
      right = v128.load(q, 4);
      upSides = i16x8.add(i16x8.shr_u(left, 8), i16x8.shr_u(right, 8));
      lowSides = i16x8.add(v128.and(left, byte), v128.and(right, byte));
      upAbove = up;
      lowAbove = lower;
      up = upBelow;
      lower = lowBelow;
    }
  }
  return <i64>(lanes(hh) << 16) + signedLanes(hl) * 512 + <i64>lanes(ll);
}

function sobelWide(p: usize, stride: usize, vectors: usize, rows: usize): i64 {
  let hh = i32x4.splat(0);
  let hl = i32x4.splat(0);
  let ll = i32x4.splat(0);
  for (let k: usize = 0; k < vectors; k++) {
    let q = p + 16 * k - 2 - stride;
    let upSmooth0 = smoothPart(q, true);
    let lowSmooth0 = smoothPart(q, false);
    let upAcross = acrossPart(q, true);
    let lowAcross = acrossPart(q, false);
    q += stride;
    let upSmooth1 = smoothPart(q, true);
    let lowSmooth1 = smoothPart(q, false);
    let upAcross1 = acrossPart(q, true);
    let lowAcross1 = acrossPart(q, false);
    let upPair = i16x8.add(upAcross, upAcross1);
    let lowPair = i16x8.add(lowAcross, lowAcross1);
    for (let y: usize = 0; y < rows; y++) {
      q += stride;
      const upSmooth2 = smoothPart(q, true);
      const lowSmooth2 = smoothPart(q, false);
      const upAcross2 = acrossPart(q, true);
      const lowAcross2 = acrossPart(q, false);
      const upPair2 = i16x8.add(upAcross1, upAcross2);
      const lowPair2 = i16x8.add(lowAcross1, lowAcross2);
      const hx = i16x8.add(upPair, upPair2);
      const lx = i16x8.add(lowPair, lowPair2);
      const hy = i16x8.sub(upSmooth2, upSmooth0);
      const ly = i16x8.sub(lowSmooth2, lowSmooth0);
      hh = i32x4.add(hh, i32x4.add(i32x4.dot_i16x8_s(hx, hx), i32x4.dot_i16x8_s(hy, hy)));
      hl = i32x4.add(hl, i32x4.add(i32x4.dot_i16x8_s(hx, lx), i32x4.dot_i16x8_s(hy, ly)));
      ll = i32x4.add(ll, i32x4.add(i32x4.dot_i16x8_s(lx, lx), i32x4.dot_i16x8_s(ly, ly)));
      upSmooth0 = upSmooth1;
      lowSmooth0 = lowSmooth1;
      upSmooth1 = upSmooth2;
      lowSmooth1 = lowSmooth2;
      upAcross1 = upAcross2;
      lowAcross1 = lowAcross2;
      upPair = upPair2;
      lowPair = lowPair2;
    }
  }
  return <i64>(lanes(hh) << 16) + signedLanes(hl) * 512 + <i64>lanes(ll);
}

/** High or low byte of eight pixels. */
// @ts-ignore: decorator
@inline
function part(value: v128, upper: bool): v128 {
  return upper ? i16x8.shr_u(value, 8) : v128.and(value, i16x8.splat(255));
}

// @ts-ignore: decorator
@inline
function smoothPart(q: usize, upper: bool): v128 {
  const ends = i16x8.add(part(v128.load(q), upper), part(v128.load(q, 4), upper));
  return i16x8.add(ends, i16x8.shl(part(v128.load(q, 2), upper), 1));
}

// @ts-ignore: decorator
@inline
function acrossPart(q: usize, upper: bool): v128 {
  return i16x8.sub(part(v128.load(q, 4), upper), part(v128.load(q), upper));
}

function signedLanes(sum: v128): i64 {
  return (
    <i64>i32x4.extract_lane(sum, 0) +
    <i64>i32x4.extract_lane(sum, 1) +
    <i64>i32x4.extract_lane(sum, 2) +
    <i64>i32x4.extract_lane(sum, 3)
  );
}

/** Squared differences to the pixel `reach` bytes on. */
function differences<T>(p: usize, stride: usize, vectors: usize, rows: usize, reach: usize): u64 {
  const low16 = i32x4.splat(0xffff);
  let low = i32x4.splat(0);
  let high = i32x4.splat(0);
  for (let y: usize = 0; y < rows; y++) {
    let q = p + y * stride;
    for (let k: usize = 0; k < vectors; k++) {
      const a = at<T>(q);
      const b = at<T>(q + reach);
      if (sizeof<T>() == 1) {
        const d = i16x8.sub(b, a);
        low = i32x4.add(low, i32x4.dot_i16x8_s(d, d));
      } else {
        const d = v128.or(i16x8.sub_sat_u(a, b), i16x8.sub_sat_u(b, a));
        const first = i32x4.extmul_low_i16x8_u(d, d);
        const second = i32x4.extmul_high_i16x8_u(d, d);
        low = i32x4.add(low, i32x4.add(v128.and(first, low16), v128.and(second, low16)));
        high = i32x4.add(high, i32x4.add(i32x4.shr_u(first, 16), i32x4.shr_u(second, 16)));
      }
      q += 8 * sizeof<T>();
    }
  }
  return lanes(low) + (lanes(high) << 16);
}

/** Absolute second differences along x and y. */
function secondDifferences<T>(p: usize, stride: usize, vectors: usize, rows: usize): u64 {
  let sum = i32x4.splat(0);
  for (let y: usize = 0; y < rows; y++) {
    let q = p + y * stride;
    for (let k: usize = 0; k < vectors; k++) {
      const here = at<T>(q);
      const left = at<T>(q - sizeof<T>());
      const right = at<T>(q + sizeof<T>());
      const above = at<T>(q - stride);
      const below = at<T>(q + stride);
      if (sizeof<T>() == 1) {
        const twice = i16x8.shl(here, 1);
        const x = i16x8.abs(i16x8.sub(twice, i16x8.add(left, right)));
        const y = i16x8.abs(i16x8.sub(twice, i16x8.add(above, below)));
        sum = i32x4.add(sum, i32x4.extadd_pairwise_i16x8_u(i16x8.add(x, y)));
      } else {
        const first = i32x4.shl(i32x4.extend_low_i16x8_u(here), 1);
        const second = i32x4.shl(i32x4.extend_high_i16x8_u(here), 1);
        const x0 = i32x4.add(i32x4.extend_low_i16x8_u(left), i32x4.extend_low_i16x8_u(right));
        const x1 = i32x4.add(i32x4.extend_high_i16x8_u(left), i32x4.extend_high_i16x8_u(right));
        const y0 = i32x4.add(i32x4.extend_low_i16x8_u(above), i32x4.extend_low_i16x8_u(below));
        const y1 = i32x4.add(i32x4.extend_high_i16x8_u(above), i32x4.extend_high_i16x8_u(below));
        sum = i32x4.add(sum, i32x4.add(i32x4.abs(i32x4.sub(first, x0)), i32x4.abs(i32x4.sub(second, x1))));
        sum = i32x4.add(sum, i32x4.add(i32x4.abs(i32x4.sub(first, y0)), i32x4.abs(i32x4.sub(second, y1))));
      }
      q += 8 * sizeof<T>();
    }
  }
  return lanes(sum);
}

/** I(x)·I(x+1) − I(x)·I(x+2). */
function lagProducts<T>(p: usize, stride: usize, vectors: usize, rows: usize): i64 {
  if (sizeof<T>() == 2) return <i64>products(p, stride, vectors, rows, 2) - <i64>products(p, stride, vectors, rows, 4);
  let sum = i32x4.splat(0);
  for (let y: usize = 0; y < rows; y++) {
    let q = p + y * stride;
    for (let k: usize = 0; k < vectors; k++) {
      const difference = i16x8.sub(at<T>(q + 1), at<T>(q + 2));
      sum = i32x4.add(sum, i32x4.dot_i16x8_s(at<T>(q), difference));
      q += 8;
    }
  }
  return signedLanes(sum);
}

/** Products of 16-bit pixels with those `reach` bytes on. */
function products(p: usize, stride: usize, vectors: usize, rows: usize, reach: usize): u64 {
  const low16 = i32x4.splat(0xffff);
  let low = i32x4.splat(0);
  let high = i32x4.splat(0);
  for (let y: usize = 0; y < rows; y++) {
    let q = p + y * stride;
    for (let k: usize = 0; k < vectors; k++) {
      const a = v128.load(q);
      const b = v128.load(q + reach);
      const first = i32x4.extmul_low_i16x8_u(a, b);
      const second = i32x4.extmul_high_i16x8_u(a, b);
      low = i32x4.add(low, i32x4.add(v128.and(first, low16), v128.and(second, low16)));
      high = i32x4.add(high, i32x4.add(i32x4.shr_u(first, 16), i32x4.shr_u(second, 16)));
      q += 16;
    }
  }
  return lanes(low) + (lanes(high) << 16);
}

function values<T>(p: usize, stride: usize, vectors: usize, rows: usize): u64 {
  let sum = i32x4.splat(0);
  for (let y: usize = 0; y < rows; y++) {
    let q = p + y * stride;
    for (let k: usize = 0; k < vectors; k++) {
      sum = i32x4.add(sum, i32x4.extadd_pairwise_i16x8_u(at<T>(q)));
      q += 8 * sizeof<T>();
    }
  }
  return lanes(sum);
}

function valueSquares<T>(p: usize, stride: usize, vectors: usize, rows: usize): u64 {
  if (sizeof<T>() == 2) return products(p, stride, vectors, rows, 0);
  let sum = i32x4.splat(0);
  for (let y: usize = 0; y < rows; y++) {
    let q = p + y * stride;
    for (let k: usize = 0; k < vectors; k++) {
      const value = at<T>(q);
      sum = i32x4.add(sum, i32x4.dot_i16x8_s(value, value));
      q += 8;
    }
  }
  return lanes(sum);
}

/**
 * Four times the energy of the details of 2 × 2 blocks a b / c d: (a+b−c−d)² + (a−b+c−d)² + (a−b−c+d)². 16-bit values are
 * taken less 32768, which no detail notices; sums of pairs are dot products with 1 1 and 1 −1.
 */
function haarDetails<T>(p: usize, stride: usize, vectors: usize, rows: usize): i64 {
  const ones = i16x8.splat(1);
  const signs = i32x4.splat(<i32>0xffff0001);
  const half = i16x8.splat(<i16>0x8000);
  let sum = i32x4.splat(0);
  let wide = i64x2.splat(0);
  for (let y: usize = 0; y < rows; y += 2) {
    let q = p + y * stride;
    for (let k: usize = 0; k < vectors; k++) {
      const above = sizeof<T>() == 1 ? at<T>(q) : v128.xor(at<T>(q), half);
      const below = sizeof<T>() == 1 ? at<T>(q + stride) : v128.xor(at<T>(q + stride), half);
      const across0 = i32x4.dot_i16x8_s(above, signs);
      const across1 = i32x4.dot_i16x8_s(below, signs);
      const down = i32x4.sub(i32x4.dot_i16x8_s(above, ones), i32x4.dot_i16x8_s(below, ones));
      const both = i32x4.add(across0, across1);
      const odd = i32x4.sub(across0, across1);
      if (sizeof<T>() == 1) {
        // At most 510 each: their lower halves alone are squared.
        const squares = i32x4.add(i32x4.add(i32x4.mul(down, down), i32x4.mul(both, both)), i32x4.mul(odd, odd));
        sum = i32x4.add(sum, squares);
      } else {
        wide = i64x2.add(wide, i64x2.add(i64x2.extmul_low_i32x4_s(down, down), i64x2.extmul_high_i32x4_s(down, down)));
        wide = i64x2.add(wide, i64x2.add(i64x2.extmul_low_i32x4_s(both, both), i64x2.extmul_high_i32x4_s(both, both)));
        wide = i64x2.add(wide, i64x2.add(i64x2.extmul_low_i32x4_s(odd, odd), i64x2.extmul_high_i32x4_s(odd, odd)));
      }
      q += 8 * sizeof<T>();
    }
  }
  if (sizeof<T>() == 1) return <i64>lanes(sum);
  return i64x2.extract_lane(wide, 0) + i64x2.extract_lane(wide, 1);
}

/** Energy of the AC over that of the DC coefficients of 8 × 8 blocks, each rounded down to 2⁻³⁶. */
function dctRatios<T>(p: usize, stride: usize, vectors: usize, rows: usize): i64 {
  const low16 = i32x4.splat(0xffff);
  let total: i64 = 0;
  for (let y: usize = 0; y < rows; y += 8) {
    for (let k: usize = 0; k < vectors; k++) {
      let q = p + y * stride + 8 * k * sizeof<T>();
      let values = i32x4.splat(0);
      let low = i32x4.splat(0);
      let high = i32x4.splat(0);
      if (sizeof<T>() == 1) {
        let column = i16x8.splat(0);
        for (let row = 0; row < 8; row++) {
          const value = at<T>(q);
          column = i16x8.add(column, value);
          low = i32x4.add(low, i32x4.dot_i16x8_s(value, value));
          q += stride;
        }
        values = i32x4.extadd_pairwise_i16x8_u(column);
      } else {
        for (let row = 0; row < 8; row++) {
          const value = at<T>(q);
          values = i32x4.add(values, i32x4.extadd_pairwise_i16x8_u(value));
          const first = i32x4.extmul_low_i16x8_u(value, value);
          const second = i32x4.extmul_high_i16x8_u(value, value);
          low = i32x4.add(low, i32x4.add(v128.and(first, low16), v128.and(second, low16)));
          high = i32x4.add(high, i32x4.add(i32x4.shr_u(first, 16), i32x4.shr_u(second, 16)));
          q += stride;
        }
      }
      total += dctRatio(<i64>lanes(values), <i64>(lanes(low) + (lanes(high) << 16)));
    }
  }
  return total;
}

/** Of one block, from the sum of its values and of their squares; both are exact in doubles. */
// @ts-ignore: decorator
@inline
function dctRatio(sum: i64, squares: i64): i64 {
  if (sum == 0) return 0;
  const direct = <f64>(sum * sum);
  return <i64>Math.floor(((64.0 * <f64>squares - direct) / direct) * 68719476736.0);
}

/** Four times the energy of one 2 × 2 block's details. */
// @ts-ignore: decorator
@inline
function haarTerm<T>(q: usize, stride: usize): i64 {
  const s = sizeof<T>();
  const across0 = <i64>load<T>(q) - <i64>load<T>(q + s);
  const across1 = <i64>load<T>(q + stride) - <i64>load<T>(q + stride + s);
  const down = <i64>load<T>(q) + <i64>load<T>(q + s) - <i64>load<T>(q + stride) - <i64>load<T>(q + stride + s);
  return down * down + (across0 + across1) * (across0 + across1) + (across0 - across1) * (across0 - across1);
}

/** The last columns in whole blocks, fewer than a vector. */
function restInBlocks<T>(kind: u32, p: usize, stride: usize, columns: usize, rows: usize): i64 {
  // Eight columns of 8-bit pixels may be left.
  if (kind == <u32>Sum.dctRatios) return dctRatios<T>(p, stride, columns >> 3, rows);
  let total: i64 = 0;
  for (let y: usize = 0; y < rows; y += 2) {
    for (let x: usize = 0; x < columns; x += 2) total += haarTerm<T>(p + y * stride + x * sizeof<T>(), stride);
  }
  return total;
}

/** The last columns, fewer than a block, pixel by pixel. */
function rest<T>(kind: u32, p: usize, stride: usize, columns: usize, rows: usize): i64 {
  if (kind >= <u32>Sum.haarDetails) return restInBlocks<T>(kind, p, stride, columns, rows);
  let total: i64 = 0;
  const end = p + rows * stride;
  const width = columns * sizeof<T>();
  for (let row = p; row < end; row += stride) {
    if (kind == <u32>Sum.laplacianSquares) {
      for (let q = row; q < row + width; q += sizeof<T>()) total += laplacianTerm<T>(q, stride);
    } else if (kind == <u32>Sum.sobelSquares) {
      for (let q = row; q < row + width; q += sizeof<T>()) total += sobelTerm<T>(q, stride);
    } else {
      for (let q = row; q < row + width; q += sizeof<T>()) total += term<T>(kind, q, stride);
    }
  }
  return total;
}

// @ts-ignore: decorator
@inline
function laplacianTerm<T>(q: usize, stride: usize): i64 {
  const s = sizeof<T>();
  const l = <i32>load<T>(q - s) + <i32>load<T>(q + s) + <i32>load<T>(q - stride) + <i32>load<T>(q + stride) - 4 * <i32>load<T>(q);
  return <i64>l * <i64>l;
}

// @ts-ignore: decorator
@inline
function sobelTerm<T>(q: usize, stride: usize): i64 {
  const s = sizeof<T>();
  const gx = <i64>(line<T>(q + s, stride) - line<T>(q - s, stride));
  const gy = <i64>(line<T>(q + stride, s) - line<T>(q - stride, s));
  return gx * gx + gy * gy;
}

function term<T>(kind: u32, q: usize, stride: usize): i64 {
  const s = sizeof<T>();
  const here = <i64>load<T>(q);
  switch (kind) {
    case Sum.forwardSquares: {
      const dx = <i64>load<T>(q + s) - here;
      const dy = <i64>load<T>(q + stride) - here;
      return dx * dx + dy * dy;
    }
    case Sum.twoApartXSquares: {
      const d = <i64>load<T>(q + 2 * s) - here;
      return d * d;
    }
    case Sum.twoApartYSquares: {
      const d = <i64>load<T>(q + 2 * stride) - here;
      return d * d;
    }
    case Sum.secondDifferences:
      return (
        abs(2 * here - <i64>load<T>(q - s) - <i64>load<T>(q + s)) +
        abs(2 * here - <i64>load<T>(q - stride) - <i64>load<T>(q + stride))
      );
    case Sum.lagProducts:
      return here * (<i64>load<T>(q + s) - <i64>load<T>(q + 2 * s));
    case Sum.values:
      return here;
    default:
      return here * here;
  }
}

/** 1 2 1 along a step. */
// @ts-ignore: decorator
@inline
function line<T>(q: usize, step: usize): i32 {
  return <i32>load<T>(q - step) + 2 * <i32>load<T>(q) + <i32>load<T>(q + step);
}
