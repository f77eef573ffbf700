// Maps of blocks: averaged over windows, and read at another scale. The readable version is src/image/stack/window-energies.ts.
// Rows of f32 one behind the other; loops write up to three values beyond a row, which the next row then puts right: behind
// each map 16 bytes are kept free.

/** Averages over (1 4 6 4 1)/16 each way, the outermost blocks left out, cut at the rim. At least six columns and rows. */
export function smoothMap(map: usize, columns: i32, rows: i32, across: usize, out: usize): void {
  const rowBytes = <usize>columns << 2;
  const six = f32x4.splat(6);
  const four = f32x4.splat(4);
  const sixteenth = f32x4.splat(0.0625);
  for (let row = 0; row < rows; row++) {
    const from = map + <usize>row * rowBytes;
    const to = across + <usize>row * rowBytes;
    for (let c = 3; c < columns - 3; c += 4) {
      const at = from + (<usize>c << 2);
      const outer = f32x4.add(v128.load(at - 8), v128.load(at + 8));
      const inner = f32x4.add(v128.load(at - 4), v128.load(at + 4));
      v128.store(to + (<usize>c << 2), f32x4.mul(sixteenth, f32x4.add(outer, f32x4.add(f32x4.mul(four, inner), f32x4.mul(six, v128.load(at))))));
    }
    for (let c = 0; c < columns; c++) {
      if (c == 3 && columns > 6) c = columns - 3;
      let sum: f32 = 0;
      let weights: f32 = 0;
      for (let k = max(-2, 1 - c); k <= min(2, columns - 2 - c); k++) {
        const w = weightOf(k);
        sum += w * load<f32>(from + (<usize>(c + k) << 2));
        weights += w;
      }
      store<f32>(to + (<usize>c << 2), sum / weights);
    }
  }
  for (let row = 0; row < rows; row++) {
    const to = out + <usize>row * rowBytes;
    let weights: f32 = 0;
    for (let k = -2; k <= 2; k++) if (row + k >= 1 && row + k <= rows - 2) weights += weightOf(k);
    let begun = false;
    for (let k = -2; k <= 2; k++) {
      if (row + k < 1 || row + k > rows - 2) continue;
      const from = across + <usize>(row + k) * rowBytes;
      const w = f32x4.splat(weightOf(k) / weights);
      for (let at: usize = 0; at < rowBytes; at += 16) {
        const part = f32x4.mul(w, v128.load(from + at));
        v128.store(to + at, begun ? f32x4.add(v128.load(to + at), part) : part);
      }
      begun = true;
    }
  }
}

// @ts-ignore: decorator of the compiler
@inline
function weightOf(k: i32): f32 {
  return k == 0 ? 6 : abs(k) == 1 ? 4 : 1;
}

/**
 * Reads a map at other places: each value of `out` from four neighbours down, then four across. downFirst, acrossFirst: i32
 * of the first of the four; downWeights, acrossWeights: four f32 each.
 */
export function scaleMap(
  map: usize, columns: i32, rows: i32, downFirst: usize, downWeights: usize, acrossFirst: usize, acrossWeights: usize, line: usize, out: usize,
): void {
  const rowBytes = <usize>columns << 2;
  for (let row = 0; row < rows; row++) {
    const from = map + <usize>load<i32>(downFirst + (<usize>row << 2)) * rowBytes;
    const weights = v128.load(downWeights + (<usize>row << 4));
    const w0 = v128.shuffle<f32>(weights, weights, 0, 0, 0, 0);
    const w1 = v128.shuffle<f32>(weights, weights, 1, 1, 1, 1);
    const w2 = v128.shuffle<f32>(weights, weights, 2, 2, 2, 2);
    const w3 = v128.shuffle<f32>(weights, weights, 3, 3, 3, 3);
    for (let at: usize = 0; at < rowBytes; at += 16) {
      const upper = f32x4.add(f32x4.mul(w0, v128.load(from + at)), f32x4.mul(w1, v128.load(from + at + rowBytes)));
      const lower = f32x4.add(f32x4.mul(w2, v128.load(from + at + 2 * rowBytes)), f32x4.mul(w3, v128.load(from + at + 3 * rowBytes)));
      v128.store(line + at, f32x4.add(upper, lower));
    }
    const to = out + <usize>row * rowBytes;
    for (let c = 0; c < columns; c++) {
      const first = <usize>load<i32>(acrossFirst + (<usize>c << 2)) << 2;
      const four = f32x4.mul(v128.load(acrossWeights + (<usize>c << 4)), v128.load(line + first));
      const two = f32x4.add(four, v128.shuffle<f32>(four, four, 2, 3, 0, 1));
      store<f32>(to + (<usize>c << 2), f32x4.extract_lane(two, 0) + f32x4.extract_lane(two, 1));
    }
  }
}
