import { bandCount, type Plane, smoothed } from './band-energies.js';

/** How white pixel noise shows in one band. */
export interface BandNoise {
  /** Mean squared band signal per unit of pixel variance. */
  gain: number;
  /** Independent samples per pixel of frame: fewer than one, since neighbours in a band are correlated. */
  independentPerPx2: number;
}

/**
 * Noise of every band, from the band's response to single pixels.
 *
 * Formula  gain = Σ h²; independent samples = 4^−k / Σ_d ρ(d)², ρ the correlation of samples d apart
 * Checked  property: Monte Carlo of white noise, tests/image/stack/band-energies.test.ts
 */
export function bandNoise(): readonly BandNoise[] {
  known ??= computed();
  return known;
}

let known: readonly BandNoise[] | null = null;

function computed(): BandNoise[] {
  return Array.from({ length: bandCount }, (_, band) => {
    const cellPx = 2 ** band;
    const sizePx = 16 * cellPx;
    const correlation = new Map<string, number>();
    for (let dy = 0; dy < cellPx; dy++) {
      for (let dx = 0; dx < cellPx; dx++) {
        addCorrelation(correlation, responseTo(sizePx / 2 + dx, sizePx / 2 + dy, sizePx, band));
      }
    }
    const gain = correlation.get('0 0')!;
    let squares = 0;
    for (const value of correlation.values()) squares += (value / gain) ** 2;
    return { gain, independentPerPx2: 1 / (cellPx ** 2 * squares) };
  });
}

/** Band samples that a single pixel of value 1 gives. */
function responseTo(x: number, y: number, sizePx: number, band: number): Plane {
  let level: Plane = { widthPx: sizePx, heightPx: sizePx, data: new Float64Array(sizePx * sizePx) };
  level.data[y * sizePx + x] = 1;
  for (let k = 0; k < band; k++) level = smoothed(level).next;
  const { smooth } = smoothed(level);
  const { widthPx, heightPx, data } = smooth;
  const response: Plane = { widthPx, heightPx, data: new Float64Array(data.length) };
  for (let row = 1; row < heightPx - 1; row++) {
    for (let column = 1; column < widthPx - 1; column++) {
      const at = row * widthPx + column;
      response.data[at] = 4 * data[at]! - data[at - 1]! - data[at + 1]! - data[at - widthPx]! - data[at + widthPx]!;
    }
  }
  return response;
}

function addCorrelation(into: Map<string, number>, { widthPx, heightPx, data }: Plane): void {
  const reach = 5;
  for (let dy = -reach; dy <= reach; dy++) {
    for (let dx = -reach; dx <= reach; dx++) {
      let sum = 0;
      for (let y = reach; y < heightPx - reach; y++) {
        for (let x = reach; x < widthPx - reach; x++) {
          sum += data[y * widthPx + x]! * data[(y + dy) * widthPx + x + dx]!;
        }
      }
      const key = `${dx} ${dy}`;
      into.set(key, (into.get(key) ?? 0) + sum);
    }
  }
}
