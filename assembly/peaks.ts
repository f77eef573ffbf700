// How well trial values of best focus explain a window. The readable version is in tests/image/stack/window-peaks.test.ts.

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
