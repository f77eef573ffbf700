// Energies of a frame in octave bands, summed over blocks, and the weighted sum of scaled frames. The readable versions
// with the same results are src/image/stack/band-energies.ts and src/image/stack/fuse-frames.ts.

export function freeFrom(): usize {
  return __heap_base;
}

/**
 * One band of an image of f32 rows: smooths with (1 2 1)⊗(1 2 1)/16, sums the squared 4-neighbour Laplacian over blocks,
 * and writes the smoothed image at half its size. The two outermost rows and columns count as zero energy.
 * lines: scratch of 6 rows of `stride` f32. stride: row length in memory, a multiple of 4, at least width + 8.
 * grey: 0, or grey values (u8, or u16 where `wide`) in rows of greyWidth, which become f32 row by row; `image` then holds
 * four rows only, and greySums and greyTops receive sums and largest values of the blocks.
 */
export function bandLevel(
  image: usize, width: i32, height: i32, stride: i32, blockPx: i32, energy: usize, half: usize, halfStride: i32, lines: usize,
  grey: usize, wide: bool, greyWidth: i32, greySums: usize, greyTops: usize,
): void {
  const rowBytes: usize = <usize>stride << 2;
  const column = lines;
  const sums = lines + rowBytes;
  const ring = lines + 2 * rowBytes;
  const blocks = width / blockPx;
  memory.fill(sums, 0, rowBytes);
  const ringMask: i32 = grey ? 3 : 0x7fffffff;
  if (grey) {
    memory.fill(greySums, 0, <usize>(blocks * (height / blockPx)) << 2);
    memory.fill(greyTops, 0, <usize>(blocks * (height / blockPx)) << 2);
    loadRow(grey, wide, greyWidth, 0, width, blockPx, image, greySums, greyTops);
  }
  const two = f32x4.splat(2);
  const four = f32x4.splat(4);
  const sixteenth = f32x4.splat(0.0625);
  for (let y = 0; y < height; y++) {
    if (grey && y + 1 < height) loadRow(grey, wide, greyWidth, y + 1, width, blockPx, image + <usize>((y + 1) & 3) * rowBytes, greySums, greyTops);
    const above = image + <usize>(max(y - 1, 0) & ringMask) * rowBytes;
    const here = image + <usize>(y & ringMask) * rowBytes;
    const below = image + <usize>(min(y + 1, height - 1) & ringMask) * rowBytes;
    const smooth = ring + <usize>(y % 3) * rowBytes;
    // column holds the vertical sums from its fifth value on, so that x − 1 stays inside.
    for (let x = 0; x < width; x += 4) {
      const at = <usize>x << 2;
      v128.store(column + at + 16, f32x4.add(f32x4.add(v128.load(above + at), v128.load(below + at)), f32x4.mul(two, v128.load(here + at))));
    }
    store<f32>(column + 12, load<f32>(column + 16));
    store<f32>(column + 16 + (<usize>width << 2), load<f32>(column + 12 + (<usize>width << 2)));
    for (let x = 0; x < width; x += 4) {
      const at = column + 16 + (<usize>x << 2);
      v128.store(smooth + (<usize>x << 2), f32x4.mul(sixteenth, f32x4.add(f32x4.add(v128.load(at - 4), v128.load(at + 4)), f32x4.mul(two, v128.load(at)))));
    }
    if (half && (y & 1)) halveRows(ring + <usize>((y - 1) % 3) * rowBytes, smooth, width >> 1, half + (<usize>(y >> 1) * <usize>halfStride << 2));
    const row = y - 1;
    if (row >= 2 && row < height - 2) {
      const up = ring + <usize>((row - 1) % 3) * rowBytes;
      const middle = ring + <usize>(row % 3) * rowBytes;
      for (let x = 4; x < width - 4; x += 4) {
        const at = <usize>x << 2;
        const cross = f32x4.add(f32x4.add(v128.load(up + at), v128.load(smooth + at)), f32x4.add(v128.load(middle + at - 4), v128.load(middle + at + 4)));
        const laplacian = f32x4.sub(f32x4.mul(four, v128.load(middle + at)), cross);
        v128.store(sums + at, f32x4.add(v128.load(sums + at), f32x4.mul(laplacian, laplacian)));
      }
      edgeColumns(up, middle, smooth, sums, 2, min(4, width - 2));
      edgeColumns(up, middle, smooth, sums, max(4, (width - 1) & ~3), width - 2);
    }
    if (row >= 0 && (row + 1) % blockPx == 0) {
      closeBlocks(sums, blocks, blockPx, energy + (<usize>(row / blockPx * blocks) << 2));
      memory.fill(sums, 0, rowBytes);
    }
  }
  if (height % blockPx == 0) closeBlocks(sums, blocks, blockPx, energy + (<usize>((height / blockPx - 1) * blocks) << 2));
}

function edgeColumns(up: usize, middle: usize, down: usize, sums: usize, from: i32, to: i32): void {
  for (let x = from; x < to; x++) {
    const at = <usize>x << 2;
    const laplacian: f32 = 4 * load<f32>(middle + at) - load<f32>(up + at) - load<f32>(down + at) - load<f32>(middle + at - 4) - load<f32>(middle + at + 4);
    store<f32>(sums + at, load<f32>(sums + at) + laplacian * laplacian);
  }
}

function closeBlocks(sums: usize, blocks: i32, blockPx: i32, energy: usize): void {
  for (let b = 0; b < blocks; b++) {
    let sum: f32 = 0;
    const from = sums + (<usize>(b * blockPx) << 2);
    for (let i = 0; i < blockPx; i++) sum += load<f32>(from + (<usize>i << 2));
    store<f32>(energy + (<usize>b << 2), sum);
  }
}

function halveRows(upper: usize, lower: usize, width: i32, half: usize): void {
  const quarter = f32x4.splat(0.25);
  let x = 0;
  for (; x + 4 <= width; x += 4) {
    const at = <usize>x << 3;
    const a = f32x4.add(v128.load(upper + at), v128.load(lower + at));
    const b = f32x4.add(v128.load(upper + at + 16), v128.load(lower + at + 16));
    const even = v128.shuffle<f32>(a, b, 0, 2, 4, 6);
    const odd = v128.shuffle<f32>(a, b, 1, 3, 5, 7);
    v128.store(half + (<usize>x << 2), f32x4.mul(quarter, f32x4.add(even, odd)));
  }
  for (; x < width; x++) {
    const at = <usize>x << 3;
    store<f32>(half + (<usize>x << 2), 0.25 * (load<f32>(upper + at) + load<f32>(upper + at + 4) + load<f32>(lower + at) + load<f32>(lower + at + 4)));
  }
}

/** One row of grey values as f32, and into the sums and largest values of its blocks. */
function loadRow(grey: usize, wide: bool, greyWidth: i32, y: i32, width: i32, blockPx: i32, row: usize, sums: usize, tops: usize): void {
  convertRow(grey, wide, greyWidth, y, width, row);
  const blocks = width / blockPx;
  const first = <usize>(y / blockPx * blocks) << 2;
  for (let b = 0; b < blocks; b++) {
    let sum = f32x4.splat(0);
    let top = f32x4.splat(0);
    const from = row + (<usize>(b * blockPx) << 2);
    for (let i = 0; i < blockPx; i += 4) {
      const v = v128.load(from + (<usize>i << 2));
      sum = f32x4.add(sum, v);
      top = f32x4.max(top, v);
    }
    const at = first + (<usize>b << 2);
    store<f32>(sums + at, load<f32>(sums + at) + (f32x4.extract_lane(sum, 0) + f32x4.extract_lane(sum, 1) + (f32x4.extract_lane(sum, 2) + f32x4.extract_lane(sum, 3))));
    const most = max(max(f32x4.extract_lane(top, 0), f32x4.extract_lane(top, 1)), max(f32x4.extract_lane(top, 2), f32x4.extract_lane(top, 3)));
    store<f32>(tops + at, max(load<f32>(tops + at), most));
  }
}

function convertRow(grey: usize, wide: bool, greyWidth: i32, y: i32, width: i32, row: usize): void {
  let x = 0;
  if (wide) {
    const from = grey + (<usize>(y * greyWidth) << 1);
    for (; x + 8 <= width; x += 8) {
      const v = v128.load(from + (<usize>x << 1));
      v128.store(row + (<usize>x << 2), f32x4.convert_i32x4_u(i32x4.extend_low_i16x8_u(v)));
      v128.store(row + (<usize>x << 2) + 16, f32x4.convert_i32x4_u(i32x4.extend_high_i16x8_u(v)));
    }
    for (; x < width; x++) store<f32>(row + (<usize>x << 2), <f32>load<u16>(from + (<usize>x << 1)));
  } else {
    const from = grey + <usize>(y * greyWidth);
    for (; x + 8 <= width; x += 8) {
      const v = i16x8.extend_low_i8x16_u(v128.load64_zero(from + <usize>x));
      v128.store(row + (<usize>x << 2), f32x4.convert_i32x4_u(i32x4.extend_low_i16x8_u(v)));
      v128.store(row + (<usize>x << 2) + 16, f32x4.convert_i32x4_u(i32x4.extend_high_i16x8_u(v)));
    }
    for (; x < width; x++) store<f32>(row + (<usize>x << 2), <f32>load<u8>(from + <usize>x));
  }
}

/** Grey values (u8, or u16 where `wide`) to f32 rows. */
export function loadFrame(grey: usize, wide: bool, width: i32, height: i32, image: usize, stride: i32): void {
  for (let y = 0; y < height; y++) convertRow(grey, wide, width, y, width, image + (<usize>(y * stride) << 2));
}

/**
 * Adds weight · frame and weight to the running sums. The frame (f32 rows) is read at centre + scale · (position − centre)
 * by cubic convolution (Keys, a = −1/2); its weight is (1 − (d/h)²)² with d = power map − power.
 */
export function addFrame(image: usize, width: i32, height: i32, stride: i32, powers: usize, power: f32, halfWidth: f32, scale: f64, sum: usize, weights: usize): void {
  const middleX: f64 = <f64>(width - 1) / 2;
  const middleY: f64 = <f64>(height - 1) / 2;
  const wanted = f32x4.splat(power);
  const reach = f32x4.splat(halfWidth);
  const inverse: f32 = 1 / halfWidth;
  const pixels = width * height;
  for (let y = 0; y < height; y++) {
    const fromY = middleY + scale * (<f64>y - middleY);
    const rowY = <i32>Math.floor(fromY);
    const ty = <f32>(fromY - <f64>rowY);
    const r0 = image + (<usize>(clampTo(rowY - 1, height) * stride) << 2);
    const r1 = image + (<usize>(clampTo(rowY, height) * stride) << 2);
    const r2 = image + (<usize>(clampTo(rowY + 1, height) * stride) << 2);
    const r3 = image + (<usize>(clampTo(rowY + 2, height) * stride) << 2);
    const start = y * width;
    for (let x = 0; x < width; x += 4) {
      const at = <usize>(start + x) << 2;
      if (start + x + 4 <= pixels && !v128.any_true(f32x4.lt(f32x4.abs(f32x4.sub(v128.load(powers + at), wanted)), reach))) continue;
      const end = min(x + 4, width);
      for (let i = x; i < end; i++) {
        const pixel = <usize>(start + i) << 2;
        const d = (load<f32>(powers + pixel) - power) * inverse;
        const room: f32 = 1 - d * d;
        if (!(room > 0)) continue;
        const fromX = middleX + scale * (<f64>i - middleX);
        const columnX = <i32>Math.floor(fromX);
        const tx = <f32>(fromX - <f64>columnX);
        const c0 = <usize>clampTo(columnX - 1, width) << 2;
        const c1 = <usize>clampTo(columnX, width) << 2;
        const c2 = <usize>clampTo(columnX + 1, width) << 2;
        const c3 = <usize>clampTo(columnX + 2, width) << 2;
        const value = cubic(ty, across(r0, c0, c1, c2, c3, tx), across(r1, c0, c1, c2, c3, tx), across(r2, c0, c1, c2, c3, tx), across(r3, c0, c1, c2, c3, tx));
        const weight = room * room;
        store<f32>(sum + pixel, load<f32>(sum + pixel) + weight * value);
        store<f32>(weights + pixel, load<f32>(weights + pixel) + weight);
      }
    }
  }
}

// @ts-ignore: decorator of the compiler
@inline
function clampTo(value: i32, count: i32): i32 {
  return max(0, min(count - 1, value));
}

// @ts-ignore: decorator of the compiler
@inline
function across(row: usize, c0: usize, c1: usize, c2: usize, c3: usize, t: f32): f32 {
  return cubic(t, load<f32>(row + c0), load<f32>(row + c1), load<f32>(row + c2), load<f32>(row + c3));
}

// @ts-ignore: decorator of the compiler
@inline
function cubic(t: f32, a: f32, b: f32, c: f32, d: f32): f32 {
  return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
}

/**
 * χ² that candidates explain in one window, over all bands: Σ_bands max(0, Σ_i e_i·c_i)² / (spread · variance), with
 * spread = twice − once²/n. energy: bands × stride f32, their mean taken off, zeros behind the last frame; curves: bands ×
 * candidates × stride; once, twice: bands × candidates; perBand: n and variance of each band.
 */
export function explain(energy: usize, curves: usize, once: usize, twice: usize, perBand: usize, bands: i32, stride: i32, candidates: i32, first: i32, step: i32, count: i32, out: usize): void {
  const rowBytes = <usize>stride << 2;
  for (let c = 0; c < count; c++) {
    const j = first + c * step;
    let total: f32 = 0;
    for (let b = 0; b < bands; b++) {
      const variance = load<f32>(perBand + (<usize>b << 3) + 4);
      if (!(variance > 0)) continue;
      const e = energy + <usize>b * rowBytes;
      const curve = curves + <usize>(b * candidates + j) * rowBytes;
      let sums = f32x4.splat(0);
      for (let at: usize = 0; at < rowBytes; at += 16) sums = f32x4.add(sums, f32x4.mul(v128.load(e + at), v128.load(curve + at)));
      const product = f32x4.extract_lane(sums, 0) + f32x4.extract_lane(sums, 1) + f32x4.extract_lane(sums, 2) + f32x4.extract_lane(sums, 3);
      const place = <usize>(b * candidates + j) << 2;
      const sum = load<f32>(once + place);
      const spread = load<f32>(twice + place) - sum * sum / load<f32>(perBand + (<usize>b << 3));
      if (product > 0 && spread > 1e-9) total += product * product / (spread * variance);
    }
    store<f32>(out + (<usize>c << 2), total);
  }
}
