/** Share of each side over which the window rises and falls. */
export const taperShare = 1;

/**
 * Tapered cosine window of one dimension: flat in the middle, sin² at both ends.
 *
 * Returns  `sizePx` weights, 0 … 1, symmetrical; pixel centres at halves, so that none is 0.
 * Source   Tukey window (Harris, Proc. IEEE 66, 51 (1978), from memory)
 */
export function taperWindow(sizePx: number): Float64Array {
  const rise = (taperShare * sizePx) / 2;
  return Float64Array.from({ length: sizePx }, (_, i) => {
    const fromEnd = Math.min(i + 0.5, sizePx - i - 0.5);
    return fromEnd < rise ? Math.sin((Math.PI * fromEnd) / (2 * rise)) ** 2 : 1;
  });
}

/** Spectral leak of the window: share of a frequency's power found this far off it, in cycles per pixel. */
export interface SpectralLeak {
  offsetsPerPx: readonly number[];
  shares: readonly number[];
}

const leakSteps = 8;
const leakStep = 0.5;

/**
 * How a taper window smears a spectrum along one direction.
 *
 * Formula  |W(δ)|² at δ = 0, ± 1/2, ± 1 … ± 4 cycles a region, scaled to a sum of 1
 * Trust    what leaks farther, less than 0.1 %, is left out.
 */
export function spectralLeak(sizePx: number): SpectralLeak {
  const window = taperWindow(sizePx);
  const offsetsPerPx = Array.from({ length: 2 * leakSteps + 1 }, (_, i) => ((i - leakSteps) * leakStep) / sizePx);
  const powers = offsetsPerPx.map((offset) => {
    let re = 0;
    let im = 0;
    for (let i = 0; i < sizePx; i++) {
      re += window[i]! * Math.cos(2 * Math.PI * offset * i);
      im += window[i]! * Math.sin(2 * Math.PI * offset * i);
    }
    return re * re + im * im;
  });
  const total = powers.reduce((sum, power) => sum + power, 0);
  return { offsetsPerPx, shares: powers.map((power) => power / total) };
}
