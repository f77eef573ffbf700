import type { EdgeOtf } from './edge-otf.js';

/** Lowest frequency, up to 1 cycle per pixel, where the MTF falls through a level, and its standard deviation; or null. */
export function frequencyAtMtf(otf: EdgeOtf, level: number): { frequencyPerPx: number; stdPerPx: number } | null {
  const { points } = otf;
  for (let i = 1; i < points.length; i++) {
    if (points[i]!.value >= level) continue;
    const frequencyPerPx = crossing(otf, level, points[i - 1]!, points[i]!);
    const reach = Math.min((points[1]!.frequencyPerPx - points[0]!.frequencyPerPx) / 2, frequencyPerPx / 2);
    const slope = (otf.valueAt(frequencyPerPx + reach) - otf.valueAt(frequencyPerPx - reach)) / (2 * reach);
    return { frequencyPerPx, stdPerPx: otf.at(frequencyPerPx).std / Math.abs(slope) };
  }
  return null;
}

interface Point {
  frequencyPerPx: number;
  value: number;
}

/** Between two near points where the curve is nearly straight: false position, its resting end moved (Illinois). */
function crossing(otf: EdgeOtf, level: number, before: Point, after: Point): number {
  let [a, b] = [before.frequencyPerPx, after.frequencyPerPx];
  let [fa, fb] = [before.value - level, after.value - level];
  for (let round = 0; round < 12 && fa !== fb; round++) {
    const middle = (a * fb - b * fa) / (fb - fa);
    const value = otf.valueAt(middle) - level;
    if (Math.abs(value) < 1e-9) return middle;
    if (value >= 0) {
      a = middle;
      fa = value;
      fb /= 2;
    } else {
      b = middle;
      fb = value;
      fa /= 2;
    }
  }
  return (a + b) / 2;
}
