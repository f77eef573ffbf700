/**
 * A root of a continuous function between two ends of opposite sign.
 *
 * Model    regula falsi with the step of Anderson and Björck, and a halving whenever that does not shrink the bracket
 *          to half in four steps: never slower than bisection by more than a factor of four
 * Input    `lowValue`, `highValue`: the function at the ends, where they are known already.
 * Returns  a point within `tolerance` of a root.
 * Throws   RangeError if the ends have the same sign or the function is not finite there.
 * Source   Anderson & Björck, BIT 13, 253 (1973) (from memory)
 * Checked  property: tests/optics/bracketed-root.test.ts
 */
export function bracketedRoot({
  of,
  low,
  high,
  tolerance,
  lowValue = of(low),
  highValue = of(high),
}: {
  of: (x: number) => number;
  low: number;
  high: number;
  tolerance: number;
  lowValue?: number;
  highValue?: number;
}): number {
  let a = low;
  let b = high;
  let fa = lowValue;
  let fb = highValue;
  if (fa === 0) return a;
  if (fb === 0) return b;
  if (!(fa * fb < 0))
    throw new RangeError(`the function is ${fa} at ${low} and ${fb} at ${high}; allowed: opposite signs`);
  let widthToHalve = Math.abs(b - a);
  for (let step = 1; Math.abs(b - a) > tolerance && step < 400; step++) {
    const width = Math.abs(b - a);
    const halve = step % 4 === 0 && width > widthToHalve / 2;
    if (step % 4 === 0) widthToHalve = halve ? width / 2 : width;
    const chord = b - (fb * (b - a)) / (fb - fa);
    const x = halve || chord === a || chord === b ? (a + b) / 2 : chord;
    if (x === a || x === b) return x;
    const fx = of(x);
    if (fx === 0) return x;
    if (fx * fb < 0) {
      a = b;
      fa = fb;
    } else {
      const factor = 1 - fx / fb;
      fa *= factor > 0 ? factor : 0.5;
    }
    b = x;
    fb = fx;
  }
  return b;
}
