// Energies of a frame in octave bands, summed over blocks. The readable version is src/image/stack/band-energies.ts.

/**
 * One band of an image of f32 rows: smooths with (1 2 1)⊗(1 2 1)/16, sums the squared 4-neighbour Laplacian over blocks,
 * and writes the smoothed image at half its size. The two outermost rows and columns count as zero energy.
 * lines: scratch of 6 rows of `stride` f32. stride: row length in memory, a multiple of 4, at least width + 8.
 * grey: 0, or grey values (u8, or u16 where `wide`) in rows of greyWidth, which become f32 row by row; `image` then holds
 * four rows only, and greyMeans and greyTops receive means and largest values of the blocks.
 */
export function bandLevel(
  image: usize, width: i32, height: i32, stride: i32, blockPx: i32, energy: usize, half: usize, halfStride: i32, lines: usize,
  grey: usize, wide: bool, greyWidth: i32, greyMeans: usize, greyTops: usize,
): void {
  const rowBytes: usize = <usize>stride << 2;
  const column = lines;
  const sums = lines + rowBytes;
  const ring = lines + 2 * rowBytes;
  const blocks = width / blockPx;
  memory.fill(sums, 0, rowBytes);
  const ringMask: i32 = grey ? 3 : 0x7fffffff;
  if (grey) {
    memory.fill(greyMeans, 0, <usize>(blocks * (height / blockPx)) << 2);
    memory.fill(greyTops, 0, <usize>(blocks * (height / blockPx)) << 2);
    loadRow(grey, wide, greyWidth, 0, width, blockPx, image, greyMeans, greyTops);
  }
  const two = f32x4.splat(2);
  const four = f32x4.splat(4);
  const sixteenth = f32x4.splat(0.0625);
  for (let y = 0; y < height; y++) {
    if (grey && y + 1 < height) loadRow(grey, wide, greyWidth, y + 1, width, blockPx, image + <usize>((y + 1) & 3) * rowBytes, greyMeans, greyTops);
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
  if (grey) {
    const area = blockPx * blockPx;
  const part: f32 = 1 / <f32>area;
    for (let b: usize = 0; b < <usize>(blocks * (height / blockPx)) << 2; b += 4) store<f32>(greyMeans + b, load<f32>(greyMeans + b) * part);
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
  const area = blockPx * blockPx;
  const part: f32 = 1 / <f32>area;
  for (let b = 0; b < blocks; b++) {
    let sum: f32 = 0;
    const from = sums + (<usize>(b * blockPx) << 2);
    for (let i = 0; i < blockPx; i++) sum += load<f32>(from + (<usize>i << 2));
    store<f32>(energy + (<usize>b << 2), sum * part);
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

/**
 * bandLevel for the first band of an 8-bit frame, in 16-bit whole numbers: the smoothed image is held in sixteenths, at most
 * 16 · 255, and its Laplacian fits into 16 bits. Whole blocks only; blockPx a multiple of 8.
 * lines: scratch of 10 bytes a pixel of a row, and 128.
 */
export function firstBand(
  grey: usize, greyWidth: i32, width: i32, height: i32, blockPx: i32, energy: usize, half: usize, halfStride: i32, lines: usize,
  greyMeans: usize, greyTops: usize,
): void {
  const line = <usize>width << 1;
  const rowBytes = line + 32;
  const column = lines + 16;
  const ring = column + rowBytes;
  const energies = ring + 3 * rowBytes;
  memory.fill(energies, 0, line);
  const blocks = width / blockPx;
  for (let y = 0; y < height; y++) {
    const above = grey + <usize>(max(y - 1, 0) * greyWidth);
    const here = grey + <usize>(y * greyWidth);
    const below = grey + <usize>(min(y + 1, height - 1) * greyWidth);
    for (let x: usize = 0; x < <usize>width; x += 8) {
      const sides = i16x8.add(i16x8.extend_low_i8x16_u(v128.load64_zero(above + x)), i16x8.extend_low_i8x16_u(v128.load64_zero(below + x)));
      v128.store(column + (x << 1), i16x8.add(sides, i16x8.shl(i16x8.extend_low_i8x16_u(v128.load64_zero(here + x)), 1)));
    }
    store<i16>(column - 2, load<i16>(column));
    store<i16>(column + line, load<i16>(column + line - 2));
    const smooth = ring + <usize>(y % 3) * rowBytes;
    const middle = ring + <usize>((y + 2) % 3) * rowBytes;
    const up = ring + <usize>((y + 1) % 3) * rowBytes;
    const to = half && (y & 1) ? half + (<usize>(y >> 1) * <usize>halfStride << 2) : 0;
    if (y >= 3 && y < height - 1) {
      bandRow(column, smooth, middle, up, energies, to, line);
    } else {
      smoothRow(column, smooth, middle, to, line);
    }
    // Row y − 1 is summed up now; what the blocks' outermost rows miss at the rim counts as zero.
    if (y > 0 && y % blockPx == 0) closeEnergies(energies, blocks, blockPx, energy + (<usize>((y / blockPx - 1) * blocks) << 2));
    if ((y + 1) % blockPx == 0) {
      const at = <usize>(y / blockPx * blocks) << 2;
      greyBlocks(here - <usize>((blockPx - 1) * greyWidth), greyWidth, blocks, blockPx, greyMeans + at, greyTops + at);
    }
  }
  closeEnergies(energies, blocks, blockPx, energy + (<usize>((height / blockPx - 1) * blocks) << 2));
}

// @ts-ignore: decorator of the compiler
@inline
function smoothEight(column: usize): v128 {
  return i16x8.add(i16x8.add(v128.load(column - 2), v128.load(column + 2)), i16x8.shl(v128.load(column), 1));
}

// @ts-ignore: decorator of the compiler
@inline
function halveEight(upper: v128, lower: v128, to: usize): void {
  v128.store(to, f32x4.mul(f32x4.splat(1 / 64), f32x4.convert_i32x4_s(i32x4.extadd_pairwise_i16x8_s(i16x8.add(upper, lower)))));
}

/** A row that has no Laplacian of its own above it. */
function smoothRow(column: usize, smooth: usize, middle: usize, to: usize, line: usize): void {
  for (let at: usize = 0; at < line; at += 16) {
    const s = smoothEight(column + at);
    v128.store(smooth + at, s);
    if (to) halveEight(v128.load(middle + at), s, to + at);
  }
}

/** Smooths row y, adds the squared Laplacian of row y − 1, and halves both where `to` is given. */
function bandRow(column: usize, smooth: usize, middle: usize, up: usize, energies: usize, to: usize, line: usize): void {
  if (to) {
    addEight(column, smooth, middle, up, energies, to, 0, i16x8(0, 0, -1, -1, -1, -1, -1, -1));
    for (let at: usize = 16; at < line - 16; at += 16) addEight(column, smooth, middle, up, energies, to, at, i16x8.splat(-1));
    addEight(column, smooth, middle, up, energies, to, line - 16, i16x8(-1, -1, -1, -1, -1, -1, 0, 0));
  } else {
    addEight(column, smooth, middle, up, energies, 0, 0, i16x8(0, 0, -1, -1, -1, -1, -1, -1));
    for (let at: usize = 16; at < line - 16; at += 16) addEight(column, smooth, middle, up, energies, 0, at, i16x8.splat(-1));
    addEight(column, smooth, middle, up, energies, 0, line - 16, i16x8(-1, -1, -1, -1, -1, -1, 0, 0));
  }
}

// @ts-ignore: decorator of the compiler
@inline
function addEight(column: usize, smooth: usize, middle: usize, up: usize, energies: usize, to: usize, at: usize, mask: v128): void {
  const s = smoothEight(column + at);
  v128.store(smooth + at, s);
  const m = v128.load(middle + at);
  if (to) halveEight(m, s, to + at);
  const cross = i16x8.add(i16x8.add(v128.load(up + at), s), i16x8.add(v128.load(middle + at - 2), v128.load(middle + at + 2)));
  const laplacian = v128.and(mask, i16x8.sub(i16x8.shl(m, 2), cross));
  v128.store(energies + at, f32x4.add(v128.load(energies + at), f32x4.convert_i32x4_s(i32x4.dot_i16x8_s(laplacian, laplacian))));
}

/** Means of one row of blocks, from sixteenths squared; what was summed up is cleared. */
function closeEnergies(energies: usize, blocks: i32, blockPx: i32, energy: usize): void {
  const each = <usize>blockPx << 1;
  const area = blockPx * blockPx;
  const part: f32 = 1 / (256 * <f32>area);
  for (let b = 0; b < blocks; b++) {
    const from = energies + <usize>b * each;
    let sum = f32x4.splat(0);
    for (let at: usize = 0; at < each; at += 16) {
      sum = f32x4.add(sum, v128.load(from + at));
      v128.store(from + at, f32x4.splat(0));
    }
    store<f32>(energy + (<usize>b << 2), (f32x4.extract_lane(sum, 0) + f32x4.extract_lane(sum, 1) + f32x4.extract_lane(sum, 2) + f32x4.extract_lane(sum, 3)) * part);
  }
}

/** Mean and largest grey value of one row of blocks. */
function greyBlocks(grey: usize, greyWidth: i32, blocks: i32, blockPx: i32, means: usize, tops: usize): void {
  const area = blockPx * blockPx;
  const part: f32 = 1 / <f32>area;
  for (let b = 0; b < blocks; b++) {
    let sum = i32x4.splat(0);
    let top = i32x4.splat(0);
    for (let y = 0; y < blockPx; y++) {
      const row = grey + <usize>(y * greyWidth + b * blockPx);
      for (let x = 0; x < blockPx; x += 8) {
        const v = i16x8.extend_low_i8x16_u(v128.load64_zero(row + <usize>x));
        sum = i32x4.add(sum, i32x4.extadd_pairwise_i16x8_u(v));
        top = i16x8.max_u(top, v);
      }
    }
    top = i16x8.max_u(top, v128.shuffle<i16>(top, top, 4, 5, 6, 7, 0, 1, 2, 3));
    top = i16x8.max_u(top, v128.shuffle<i16>(top, top, 2, 3, 0, 1, 6, 7, 4, 5));
    store<f32>(means + (<usize>b << 2), <f32>(i32x4.extract_lane(sum, 0) + i32x4.extract_lane(sum, 1) + i32x4.extract_lane(sum, 2) + i32x4.extract_lane(sum, 3)) * part);
    store<f32>(tops + (<usize>b << 2), <f32>max(i16x8.extract_lane_u(top, 0), i16x8.extract_lane_u(top, 1)));
  }
}
