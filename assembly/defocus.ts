// Likelihood of blurs of one unknown scene, two rings at a time in double precision. The readable versions with the same
// results are src/image/defocus/scene-likelihood.ts and src/image/defocus/ring-blur-table.ts; what the numbers mean stands there.

import { exponential, logarithm } from './exp-log';

export function freeFrom(): usize {
  return __heap_base;
}

// As in scene-likelihood.ts.
const sidelobeError: f64 = 0.15;
const scatterOfCoefficients: f64 = 2;
const leakWeight: f64 = 3;
const leastLeak: f64 = 0.03;
const variance: f64 = 0.9 * 0.9;
const freedom: f64 = 3;
const usualExponent: f64 = 2.4;
const exponentPrior: f64 = 1 / (0.7 * 0.7);
const levelPrior: f64 = 1 / (5.0 * 5.0);
const sweeps: i32 = 2;
const newtonSteps: i32 = 2;
const longestStep: f64 = 3;
const closeEnough: f64 = 0.03;
const leastWeight: f64 = 0.3;
const leastPowerDn2: f64 = 1e-9;
/** ln 1e12. */
const unseenLevel: f64 = 27.631021115928547;

/** Rings of a region and the table of blurs that is asked; arrays of f64 have an even number of places. */
@unmanaged
class Scene {
  rings: u32;
  frames: u32;
  /** Bytes of an array over rings. */
  ringBytes: u32;
  /** Arrays over rings: all bits set where there is a ring; ln f; 1/n; largest n of all frames. */
  mask: u32;
  logFrequencies: u32;
  perCounts: u32;
  mostCounts: u32;
  /** Results over rings. */
  logPowers: u32;
  informations: u32;
  logVariances: u32;
  /** Work arrays: powers, the line's logarithm of them, all bits set where a ring is not settled. */
  powers: u32;
  usual: u32;
  isOpen: u32;
  /** First of the frames. */
  frame: u32;
  /** Bytes from one to the next. */
  frameBytes: u32;
  /** Addresses (u32) of the table's shares, `stds` for each level; 0: not there yet. */
  layers: u32;
  /** Addresses (u32) of the table's spreads for each level. */
  spreads: u32;
  /** Radii (f64) of the table's rows, symmetrical about 0. */
  radiiPx: u32;
  /** Rows on either side of 0. */
  side: u32;
  levels: u32;
  stds: u32;
  /** Standard deviations (f64) from which on the next layer serves. */
  stdEnds: u32;
  /** Layer that was missing, those of the spreads behind those of the shares; −1: none. */
  missing: i32;
  unused: u32;
  rowBendPx: f64;
  rowStepPx: f64;
  sphericalStepWaves: f64;
  maxBlurRadiusPx: f64;
}

/** A frame; its arrays over rings follow: measured power, 1/n, logarithm of the power, share, spread, variance of the model. */
@unmanaged
class Frame {
  noise: f64;
  leakRatio: f64;
  errorRatio: f64;
  unused: f64;
}
const headBytes: usize = 32;

/** Straight line through the rings' log powers. */
let level: f64 = 0;
let exponent: f64 = 0;
let weights: f64 = 0;
let first: f64 = 0;
let second: f64 = 0;
let values: f64 = 0;
let products: f64 = 0;

// @ts-ignore: decorator
@inline
function all(x: f64): v128 {
  return f64x2.splat(x);
}

// @ts-ignore: decorator
@inline
function both(sum: v128): f64 {
  return f64x2.extract_lane(sum, 0) + f64x2.extract_lane(sum, 1);
}

function settle(): void {
  if (weights < leastWeight) return;
  const determinant = weights * (second + exponentPrior) - first * first;
  const pull = exponentPrior * usualExponent - products;
  level = (values * (second + exponentPrior) + first * pull) / determinant;
  exponent = (weights * pull + first * values) / determinant;
}

/** Makes the logarithms of a frame's powers, once for all hypotheses. */
export function beginFrame(scene: Scene, frame: usize): void {
  const bytes: usize = scene.ringBytes;
  const powers = frame + headBytes;
  for (let at: usize = 0; at < bytes; at += 16) {
    v128.store(powers + 2 * bytes + at, logarithm(f64x2.pmax(v128.load(powers + at), all(leastPowerDn2))));
  }
}

/**
 * Blurs of all frames read from the table, then their likelihood. `asked`: for each frame leakRatio, errorRatio, count, and
 * so many pairs of radius and standard deviation. NaN where a layer of the table is missing; it is then told in `missing`.
 */
export function fitBlurs(scene: Scene, asked: usize, sphericalWaves: f64, modelError: f64): f64 {
  const bytes: usize = scene.ringBytes;
  scene.missing = -1;
  let frame: usize = scene.frame;
  for (let k: u32 = 0; k < scene.frames; k++) {
    const head = changetype<Frame>(frame);
    head.leakRatio = load<f64>(asked);
    head.errorRatio = load<f64>(asked, 8);
    const count = <u32>load<f64>(asked, 16);
    asked += 24;
    for (let blur: u32 = 0; blur < count; blur++) {
      if (!read(scene, frame + headBytes + 3 * bytes, load<f64>(asked), load<f64>(asked, 8), sphericalWaves, 1 / <f64>count, blur > 0)) return NaN;
      asked += 16;
    }
    frame += scene.frameBytes;
  }
  return fit(scene, modelError);
}

/** One blur from the table: shares at `to`, spreads in the array behind them, by `weight`, added where `more`. */
function read(scene: Scene, to: usize, blurRadiusPx: f64, blurRadiusStdPx: f64, sphericalWaves: f64, weight: f64, more: bool): bool {
  let std: u32 = 0;
  while (std < scene.stds - 1 && blurRadiusStdPx > load<f64>(scene.stdEnds + (std << 3))) std++;
  const held = max(-scene.maxBlurRadiusPx, min(scene.maxBlurRadiusPx, blurRadiusPx));
  const strength = min(<f64>scene.levels, abs(sphericalWaves) / scene.sphericalStepWaves);
  const below = min(<i32>scene.levels - 1, <i32>strength);
  const mix = strength - <f64>below;
  const radiusPx = sphericalWaves == 0 ? abs(held) : sphericalWaves < 0 ? -held : held;
  const bent = abs(radiusPx) / scene.rowBendPx;
  const place = (scene.rowBendPx / scene.rowStepPx) * f64x2.extract_lane(logarithm(all(bent + sqrt(bent * bent + 1))), 0);
  const row = <i32>floor(radiusPx < 0 ? -place : place) + <i32>scene.side;
  const radii: usize = scene.radiiPx + (<usize>row << 3);
  const part = (radiusPx - load<f64>(radii)) / (load<f64>(radii, 8) - load<f64>(radii));
  const rowBytes: usize = <usize>scene.rings << 2;
  const layer = scene.layers + ((<u32>below * scene.stds + std) << 2);
  const low: usize = load<u32>(layer);
  if (low == 0) {
    scene.missing = <i32>(<u32>below * scene.stds + std);
    return false;
  }
  const high: usize = mix == 0 ? low : load<u32>(layer + (scene.stds << 2));
  if (high == 0) {
    scene.missing = <i32>(<u32>(below + 1) * scene.stds + std);
    return false;
  }
  const nearest = <u32>(mix < 0.5 ? below : below + 1);
  const nearer: usize = load<u32>(scene.spreads + (nearest << 2));
  if (nearer == 0) {
    scene.missing = <i32>((scene.levels + 1) * scene.stds + nearest);
    return false;
  }
  const a = all(weight * (1 - mix) * (1 - part));
  const b = all(weight * (1 - mix) * part);
  const c = all(weight * mix * (1 - part));
  const d = all(weight * mix * part);
  const w = all(weight);
  const bytes: usize = scene.ringBytes;
  let lowAt = low + <usize>row * rowBytes;
  let highAt = high + <usize>row * rowBytes;
  let spreadAt = nearer + <usize>row * rowBytes;
  for (const end = to + bytes; to < end; to += 16) {
    let share = f64x2.add(f64x2.mul(a, f64x2.promote_low_f32x4(v128.load64_zero(lowAt))), f64x2.mul(b, f64x2.promote_low_f32x4(v128.load64_zero(lowAt + rowBytes))));
    if (mix != 0) share = f64x2.add(share, f64x2.add(f64x2.mul(c, f64x2.promote_low_f32x4(v128.load64_zero(highAt))), f64x2.mul(d, f64x2.promote_low_f32x4(v128.load64_zero(highAt + rowBytes)))));
    let spread = f64x2.mul(w, f64x2.promote_low_f32x4(v128.load64_zero(spreadAt)));
    if (more) {
      share = f64x2.add(share, v128.load(to));
      spread = f64x2.add(spread, v128.load(to + bytes));
    }
    v128.store(to, share);
    v128.store(to + bytes, spread);
    lowAt += 8;
    highAt += 8;
    spreadAt += 8;
  }
  return true;
}

/** Log-likelihood of the shares and spreads that stand in the frames. */
export function fit(scene: Scene, modelError: f64): f64 {
  const bytes: usize = scene.ringBytes;
  const frame: usize = scene.frame;
  const frameBytes: usize = scene.frameBytes;
  const end = frame + <usize>scene.frames * frameBytes;
  for (let f = frame; f < end; f += frameBytes) modelVariances(f, bytes, modelError);
  firstScene(scene, frame, end, frameBytes, bytes);
  for (let sweep = 0; sweep < sweeps; sweep++) {
    settle();
    newton(scene, frame, end, frameBytes, bytes, sweep == 0);
  }
  settle();
  return logTotal(scene, frame, end, frameBytes, bytes);
}

/** Variance of the relative power but for the noise, from a frame's shares and spreads. */
function modelVariances(frame: usize, bytes: usize, modelError: f64): void {
  const head = changetype<Frame>(frame);
  const leak = all(min(scatterOfCoefficients, leastLeak + leakWeight * head.leakRatio));
  const highest = all(modelError + head.errorRatio + sidelobeError);
  const slope = all(sidelobeError);
  const scatter = all(scatterOfCoefficients);
  for (let at = frame + headBytes, end = at + bytes; at < end; at += 16) {
    const error = f64x2.sub(highest, f64x2.mul(slope, f64x2.sqrt(v128.load(at + 3 * bytes))));
    const spread = f64x2.add(f64x2.mul(scatter, v128.load(at + 4 * bytes)), leak);
    v128.store(at + 5 * bytes, f64x2.add(f64x2.mul(error, error), f64x2.mul(spread, v128.load(at + bytes))));
  }
}

/** Each ring's power as the frames alone show it, and the line through those that are seen. */
function firstScene(scene: Scene, frame: usize, end: usize, frameBytes: usize, bytes: usize): void {
  let w = all(0);
  let wx = all(0);
  let wxx = all(0);
  let wy = all(0);
  let wxy = all(0);
  let lowest = all(unseenLevel);
  for (let at: usize = 0; at < bytes; at += 16) {
    const perCount = v128.load(scene.perCounts + at);
    const x = v128.load(scene.logFrequencies + at);
    const mask = v128.load(scene.mask + at);
    let weighted = all(0);
    let square = all(0);
    for (let f = frame; f < end; f += frameBytes) {
      const noise = changetype<Frame>(f).noise;
      const p = f + headBytes + at;
      const share = v128.load(p + 3 * bytes);
      const weight = f64x2.mul(share, all(1 / (noise * noise)));
      weighted = f64x2.add(weighted, f64x2.mul(weight, f64x2.sub(v128.load(p), all(noise))));
      square = f64x2.add(square, f64x2.mul(weight, share));
    }
    const hidden = f64x2.div(all(0.5), f64x2.sqrt(f64x2.mul(v128.load(scene.mostCounts + at), square)));
    const seen = f64x2.div(weighted, square);
    const power = f64x2.pmax(f64x2.pmax(seen, hidden), all(leastPowerDn2));
    let information = all(0);
    for (let f = frame; f < end; f += frameBytes) {
      const noise = all(changetype<Frame>(f).noise);
      const p = f + headBytes + at;
      const signal = f64x2.mul(power, v128.load(p + 3 * bytes));
      const squared = f64x2.mul(signal, signal);
      information = f64x2.add(information, f64x2.div(squared, distrust(signal, squared, noise, perCount, v128.load(p + 5 * bytes))));
    }
    const y = logarithm(power);
    v128.store(scene.logPowers + at, y);
    v128.store(scene.informations + at, information);
    const isSeen = v128.and(mask, f64x2.gt(seen, hidden));
    const held = f64x2.pmax(information, all(1e-9));
    const weight = v128.and(isSeen, f64x2.div(held, f64x2.add(f64x2.mul(all(variance), held), all(1))));
    const weightedX = f64x2.mul(weight, x);
    w = f64x2.add(w, weight);
    wx = f64x2.add(wx, weightedX);
    wxx = f64x2.add(wxx, f64x2.mul(weightedX, x));
    wy = f64x2.add(wy, f64x2.mul(weight, y));
    wxy = f64x2.add(wxy, f64x2.mul(weightedX, y));
    const own = f64x2.add(y, f64x2.mul(all(usualExponent), x));
    lowest = f64x2.pmin(lowest, v128.bitselect(own, lowest, v128.andnot(mask, isSeen)));
  }
  keepSums(w, wx, wxx, wy, wxy);
  level = min(f64x2.extract_lane(lowest, 0), f64x2.extract_lane(lowest, 1));
  exponent = usualExponent;
}

function keepSums(w: v128, wx: v128, wxx: v128, wy: v128, wxy: v128): void {
  weights = both(w);
  first = both(wx);
  second = both(wxx);
  values = both(wy);
  products = both(wxy);
}

/** Expected power squared times the variance of what is measured over it: noise·(noise + 2·signal)/n + signal²·ε². */
// @ts-ignore: decorator
@inline
function distrust(signal: v128, squared: v128, noise: v128, perCount: v128, error: v128): v128 {
  const apart = f64x2.mul(noise, f64x2.add(noise, f64x2.add(signal, signal)));
  return f64x2.add(f64x2.mul(apart, perCount), f64x2.mul(squared, error));
}

/** Each ring's power between frames and line by Newton's method, and the line through them. Short loops: rings then overlap. */
function newton(scene: Scene, frame: usize, end: usize, frameBytes: usize, bytes: usize, isFirst: bool): void {
  const law = all(level);
  const fall = all(exponent);
  const tails = all(freedom * variance);
  const pulls = all(freedom + 1);
  for (let at: usize = 0; at < bytes; at += 16) {
    const usual = f64x2.sub(law, f64x2.mul(fall, v128.load(scene.logFrequencies + at)));
    v128.store(scene.usual + at, usual);
    v128.store(scene.isOpen + at, i64x2.splat(-1));
    if (isFirst) {
      const log = v128.load(scene.logPowers + at);
      const isWeak = f64x2.lt(f64x2.mul(v128.load(scene.informations + at), all(variance)), all(0.25));
      v128.store(scene.logPowers + at, v128.bitselect(f64x2.pmin(usual, log), log, isWeak));
    }
  }
  for (let step = 0; step < newtonSteps; step++) {
    powersOf(scene, bytes);
    for (let at: usize = 0; at < bytes; at += 16) {
      const perCount = v128.load(scene.perCounts + at);
      const log = v128.load(scene.logPowers + at);
      const power = v128.load(scene.powers + at);
      const isOpen = v128.load(scene.isOpen + at);
      let score = all(0);
      let told = all(0);
      for (let f = frame; f < end; f += frameBytes) {
        const noise = all(changetype<Frame>(f).noise);
        const p = f + headBytes + at;
        const signal = f64x2.mul(power, v128.load(p + 3 * bytes));
        const squared = f64x2.mul(signal, signal);
        const trusted = f64x2.div(signal, distrust(signal, squared, noise, perCount, v128.load(p + 5 * bytes)));
        score = f64x2.add(score, f64x2.mul(trusted, f64x2.sub(v128.load(p), f64x2.add(signal, noise))));
        told = f64x2.add(told, f64x2.mul(trusted, signal));
      }
      v128.store(scene.informations + at, v128.bitselect(told, v128.load(scene.informations + at), isOpen));
      const off = f64x2.sub(log, v128.load(scene.usual + at));
      const width = f64x2.add(tails, f64x2.mul(off, off));
      const curvature = f64x2.add(told, f64x2.mul(all(-0.3), f64x2.pmin(score, all(0))));
      const change = f64x2.div(f64x2.sub(f64x2.mul(score, width), f64x2.mul(pulls, off)), f64x2.add(f64x2.mul(curvature, width), pulls));
      const held = f64x2.pmax(all(-longestStep), f64x2.pmin(all(longestStep), change));
      v128.store(scene.logPowers + at, f64x2.add(log, v128.and(held, isOpen)));
      v128.store(scene.isOpen + at, v128.and(isOpen, f64x2.ge(f64x2.abs(change), all(closeEnough))));
    }
  }
  let w = all(0);
  let wx = all(0);
  let wxx = all(0);
  let wy = all(0);
  let wxy = all(0);
  for (let at: usize = 0; at < bytes; at += 16) {
    const x = v128.load(scene.logFrequencies + at);
    const log = v128.load(scene.logPowers + at);
    const usual = v128.load(scene.usual + at);
    const information = v128.load(scene.informations + at);
    // What the frames alone say: the prior's pull taken off again.
    const off = f64x2.sub(log, usual);
    const width = f64x2.add(tails, f64x2.mul(off, off));
    const alone = f64x2.add(log, f64x2.div(f64x2.mul(pulls, off), f64x2.mul(width, information)));
    const own = v128.bitselect(alone, usual, f64x2.gt(information, all(1e-6)));
    const y = f64x2.pmax(f64x2.sub(usual, all(20)), f64x2.pmin(f64x2.add(usual, all(20)), own));
    const held = f64x2.pmax(information, all(1e-9));
    const scatter = f64x2.mul(width, all(1 / (freedom + 1)));
    const weight = v128.and(v128.load(scene.mask + at), f64x2.div(held, f64x2.add(f64x2.mul(scatter, held), all(1))));
    const weightedX = f64x2.mul(weight, x);
    w = f64x2.add(w, weight);
    wx = f64x2.add(wx, weightedX);
    wxx = f64x2.add(wxx, f64x2.mul(weightedX, x));
    wy = f64x2.add(wy, f64x2.mul(weight, y));
    wxy = f64x2.add(wxy, f64x2.mul(weightedX, y));
  }
  keepSums(w, wx, wxx, wy, wxy);
}

function powersOf(scene: Scene, bytes: usize): void {
  for (let at: usize = 0; at < bytes; at += 16) v128.store(scene.powers + at, exponential(v128.load(scene.logPowers + at)));
}

/** Log-likelihood of the frames and logarithm of the priors, marginal by Laplace's method. */
function logTotal(scene: Scene, frame: usize, end: usize, frameBytes: usize, bytes: usize): f64 {
  const law = all(level);
  const fall = all(exponent);
  const tail = all(1 / (freedom * variance));
  let total = all(0);
  powersOf(scene, bytes);
  for (let at: usize = 0; at < bytes; at += 16) {
    const perCount = v128.load(scene.perCounts + at);
    const x = v128.load(scene.logFrequencies + at);
    const log = v128.load(scene.logPowers + at);
    const power = v128.load(scene.powers + at);
    let trusts = all(1);
    let misfit = all(0);
    for (let f = frame; f < end; f += frameBytes) {
      const noise = all(changetype<Frame>(f).noise);
      const p = f + headBytes + at;
      const signal = f64x2.mul(power, v128.load(p + 3 * bytes));
      const expected = f64x2.add(signal, noise);
      const spread = distrust(signal, f64x2.mul(signal, signal), noise, perCount, v128.load(p + 5 * bytes));
      const trusted = f64x2.div(f64x2.mul(expected, expected), spread);
      const ratio = f64x2.div(f64x2.pmax(v128.load(p), all(leastPowerDn2)), expected);
      trusts = f64x2.mul(trusts, f64x2.mul(trusted, perCount));
      const logRatio = f64x2.sub(v128.load(p + 2 * bytes), logarithm(expected));
      misfit = f64x2.add(misfit, f64x2.mul(trusted, f64x2.sub(f64x2.sub(ratio, all(1)), logRatio)));
    }
    const off = f64x2.sub(log, f64x2.sub(law, f64x2.mul(fall, x)));
    const far = f64x2.add(all(1), f64x2.mul(f64x2.mul(off, off), tail));
    const farSquared = f64x2.mul(far, far);
    const told = f64x2.add(all(1), f64x2.mul(all(variance), v128.load(scene.informations + at)));
    // freedom + 1 = 4: ½·ln of its fourth power.
    const shape = logarithm(f64x2.div(trusts, f64x2.mul(told, f64x2.mul(farSquared, farSquared))));
    total = f64x2.add(total, v128.and(v128.load(scene.mask + at), f64x2.sub(f64x2.mul(all(0.5), shape), misfit)));
    v128.store(scene.logVariances + at, f64x2.div(all(variance), told));
  }
  const volume = f64x2.extract_lane(logarithm(all(((weights + levelPrior) * (second + exponentPrior) - first * first) / (exponentPrior * levelPrior))), 0);
  const away = exponent - usualExponent;
  return both(total) - 0.5 * exponentPrior * away * away - 0.5 * volume;
}
