// Exponential and natural logarithm of two doubles at a time, by polynomials of least largest error. Constants lie in memory: to
// load one is quicker than to make it.

// @ts-ignore: decorator
@lazy
const constants = memory.data<f64>([
  1.4426950408889634, 0.6931471803691238, 1.9082149292705877e-10, 4503599627371519,
  1.0000000000000135, 1.0000000000000012, 0.4999999999943859, 0.16666666666615647, 0.041666667040551906, 0.00833333336731161,
  0.0013888801749656543, 0.0001984119064754424, 0.000024884459751751115, 0.0000027632640675430236,
  1.4142135623730951, 0.5, 1, 0.6931471805599453,
  1.9999999999999472, 0.6666666667957925, 0.39999994891832382, 0.28572166145875725, 0.2217424991007749, 0.19608095639753053,
]);

// @ts-ignore: decorator
@inline
function at(i: usize): v128 {
  return v128.load64_splat(constants + (i << 3));
}

/** The i-th constant and the next times x. */
// @ts-ignore: decorator
@inline
function line(i: usize, x: v128): v128 {
  return f64x2.add(at(i), f64x2.mul(at(i + 1), x));
}

/** eˣ to 2e-14 of itself, for −700 < x < 700. */
// @ts-ignore: decorator
@inline
export function exponential(x: v128): v128 {
  const n = f64x2.nearest(f64x2.mul(x, at(0)));
  const r = f64x2.sub(f64x2.sub(x, f64x2.mul(n, at(1))), f64x2.mul(n, at(2)));
  const r2 = f64x2.mul(r, r);
  const r4 = f64x2.mul(r2, r2);
  const low = f64x2.add(line(4, r), f64x2.mul(line(6, r), r2));
  const middle = f64x2.add(line(8, r), f64x2.mul(line(10, r), r2));
  const part = f64x2.add(low, f64x2.mul(r4, f64x2.add(middle, f64x2.mul(r4, line(12, r)))));
  // The low bits of 2⁵² + 1023 + n are the exponent of 2ⁿ.
  return f64x2.mul(part, i64x2.shl(f64x2.add(n, at(3)), 52));
}

/** ln x to 6e-14 absolute and 3e-14 of itself, whichever is more, for 1e-300 < x < 1e300. */
// @ts-ignore: decorator
@inline
export function logarithm(x: v128): v128 {
  const between = v128.or(v128.and(x, i64x2.splat(0x000fffffffffffff)), at(16));
  const isLarge = f64x2.gt(between, at(14));
  const m = v128.bitselect(f64x2.mul(between, at(15)), between, isLarge);
  const biased = f64x2.sub(v128.or(i64x2.shr_u(x, 52), i64x2.splat(0x4330000000000000)), at(3));
  const n = f64x2.add(biased, v128.and(isLarge, at(16)));
  const s = f64x2.div(f64x2.sub(m, at(16)), f64x2.add(m, at(16)));
  const z = f64x2.mul(s, s);
  const z2 = f64x2.mul(z, z);
  const high = f64x2.add(line(20, z), f64x2.mul(z2, line(22, z)));
  return f64x2.add(f64x2.mul(n, at(17)), f64x2.mul(s, f64x2.add(line(18, z), f64x2.mul(z2, high))));
}
