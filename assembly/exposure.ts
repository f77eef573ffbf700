// From a noise-free image to grey values, by the linear camera model of EMVA 1288. The readable version with the same
// results is src/twin/sensor/exposure.ts.

@unmanaged
class ExposureJob {
  image: usize;
  /** Relative illumination × photo response of each pixel, row by row like the image. */
  response: usize;
  /** Grey values, u16, rows without padding. */
  grey: usize;
  rows: u32;
  columns: u32;
  /** Columns of image and response rows in memory, a multiple of four. */
  stride: u32;
  /** Table of standard normals; `normalMask` + 1 of them and 4·stride bytes more. */
  normals: usize;
  /** For each row: place in the table where its noise begins. */
  rowOffsets: usize;
  /** Mean electrons of a pixel of value 1 and response 1. */
  electronsPerUnit: f32;
  readNoiseE: f32;
  gainDnPerE: f32;
  blackLevelDn: f32;
  fullWellE: f32;
  maxGreyDn: f32;
  /** Below this many electrons photon noise is drawn from Poisson's law, above it from the normal law. */
  smallMeanE: f32;
  /** Of the random numbers of small means. */
  seed: u32;
}

export function expose(job: ExposureJob): void {
  const columns: usize = job.columns;
  const perUnit = f32x4.splat(job.electronsPerUnit);
  const readVariance = f32x4.splat(job.readNoiseE * job.readNoiseE);
  const gain = f32x4.splat(job.gainDnPerE);
  const black = f32x4.splat(job.blackLevelDn);
  const fullWell = f32x4.splat(job.fullWellE);
  const top = f32x4.splat(job.maxGreyDn);
  const smallMean = f32x4.splat(job.smallMeanE);
  const zero = f32x4.splat(0);
  for (let row: usize = 0; row < <usize>job.rows; row++) {
    let image = job.image + 4 * row * <usize>job.stride;
    let response = job.response + 4 * row * <usize>job.stride;
    let grey = job.grey + 2 * row * columns;
    let normal = job.normals + 4 * <usize>load<u32>(job.rowOffsets + 4 * row);
    for (let x: usize = 0; x < columns; x += 4) {
      const mean = f32x4.max(zero, f32x4.mul(f32x4.mul(v128.load(image), v128.load(response)), perUnit));
      const noise = v128.load(normal);
      let electrons = f32x4.add(mean, f32x4.mul(noise, f32x4.sqrt(f32x4.add(mean, readVariance))));
      if (v128.any_true(f32x4.lt(mean, smallMean))) electrons = withSmallMeans(job, <u32>row * job.stride + <u32>x, mean, noise, electrons);
      electrons = f32x4.min(electrons, fullWell);
      let dn = f32x4.add(f32x4.mul(electrons, gain), black);
      dn = f32x4.max(zero, f32x4.min(top, f32x4.nearest(dn)));
      const whole = i32x4.trunc_sat_f32x4_u(dn);
      const packed = i16x8.narrow_i32x4_u(whole, whole);
      if (x + 4 <= columns) v128.store64_lane(grey, packed, 0);
      else for (let lane: usize = 0; x + lane < columns; lane++) store<u16>(grey + 2 * lane, <u16>load<u32>(spill(whole) + 4 * lane));
      image += 16;
      response += 16;
      grey += 8;
      normal += 16;
    }
  }
}

const scratch = memory.data(48);

function spill(value: v128): usize {
  v128.store(scratch, value);
  return scratch;
}

function withSmallMeans(job: ExposureJob, pixel: u32, mean: v128, noise: v128, electrons: v128): v128 {
  v128.store(scratch, mean);
  v128.store(scratch, noise, 16);
  v128.store(scratch, electrons, 32);
  for (let lane: usize = 0; lane < 16; lane += 4) {
    const lambda = load<f32>(scratch + lane);
    if (lambda >= job.smallMeanE) continue;
    store<f32>(scratch + lane, <f32>poisson(uniform(job.seed, pixel + <u32>(lane >> 2)), <f64>lambda) + job.readNoiseE * load<f32>(scratch + lane, 16), 32);
  }
  return v128.load(scratch, 32);
}

/** A number in 0 … 1 that depends on seed and pixel alone. */
function uniform(seed: u32, pixel: u32): f64 {
  let z = seed + pixel * 0x9e3779b9;
  z = (z ^ (z >>> 16)) * 0x85ebca6b;
  z = (z ^ (z >>> 13)) * 0xc2b2ae35;
  return (<f64>(z ^ (z >>> 16)) + 0.5) / 4294967296.0;
}

/** Poisson's law by inversion of its distribution: exact, at a cost that grows with the mean. */
function poisson(u: f64, lambda: f64): u32 {
  let term = Math.exp(-lambda);
  let sum = term;
  let count: u32 = 0;
  while (u > sum && count < 200) {
    count++;
    term *= lambda / <f64>count;
    sum += term;
  }
  return count;
}
