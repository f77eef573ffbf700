import type { EdgeOtf } from './edge-otf.js';

/** Lowest frequency, up to 1 cycle per pixel, where the MTF falls through a level, and its standard deviation; or null. */
export function frequencyAtMtf(otf: EdgeOtf, level: number): { frequencyPerPx: number; stdPerPx: number } | null {
  const step = 0.01;
  for (let i = 1; i <= 100; i++) {
    if (otf.valueAt(i * step) >= level) continue;
    let below = (i - 1) * step;
    let above = i * step;
    for (let round = 0; round < 20; round++) {
      const middle = (below + above) / 2;
      if (otf.valueAt(middle) >= level) below = middle;
      else above = middle;
    }
    const frequencyPerPx = (below + above) / 2;
    const reach = Math.min(step / 2, frequencyPerPx / 2);
    const slope = (otf.valueAt(frequencyPerPx + reach) - otf.valueAt(frequencyPerPx - reach)) / (2 * reach);
    return { frequencyPerPx, stdPerPx: otf.at(frequencyPerPx).std / Math.abs(slope) };
  }
  return null;
}
