import { bandCount } from './band-energies.js';
import { stackKernel } from './stack-kernel.js';

/** Share of the peak by which a curve may leave the predicted one: other textures, tilted windows. */
const curveError = 0.05;

/** How well trial values of best focus explain one window; the same one at a time. */
export interface WindowPeaks {
  /** Takes one band of a window: its energies over the frames, less the noise floor. Gives its χ² without a peak. */
  take(
    band: number,
    energies: readonly Float32Array[],
    window: number,
    floor: number,
    independent: number,
    found: { nullChi2: number; weightedPeak2: number },
  ): void;
  /** χ² that candidates first, first + step, … explain, over all bands; valid until the next call. */
  explained(which: { first: number; step: number; count: number }): Float32Array;
}

/**
 * Least squares of energy = floor + a · curve for many trial curves at once.
 *
 * Formula  explained χ² = (Σ (e − ē)·c)² / ((Σ c² − (Σ c)²/n)·σ²), n = frames + σ²/σ_floor²; a < 0 explains nothing
 * Cost     about 1 µs for 66 trial values of 32 frames and three bands, in the compiled kernel
 * Checked  property: least squares written out, tests/image/stack/window-peaks.test.ts
 */
export function windowPeaks({
  curves,
  factors,
  frames,
  candidates,
}: {
  curves: readonly Float32Array[];
  /** Of each frame: its energies are multiplied by it. */
  factors: Float32Array;
  frames: number;
  candidates: number;
}): WindowPeaks {
  const kernel = stackKernel();
  const stride = Math.ceil(frames / 4) * 4;
  const at = {
    energy: kernel.allocate(4 * bandCount * stride),
    curves: kernel.allocate(4 * bandCount * candidates * stride),
    once: kernel.allocate(4 * bandCount * candidates),
    twice: kernel.allocate(4 * bandCount * candidates),
    perBand: kernel.allocate(8 * bandCount),
    out: kernel.allocate(4 * candidates),
  };
  const floats = (address: number, count: number) => new Float32Array(kernel.buffer(), address, count);
  const energy = floats(at.energy, bandCount * stride);
  const perBand = floats(at.perBand, 2 * bandCount);
  const out = floats(at.out, candidates);
  const laid = floats(at.curves, bandCount * candidates * stride);
  const once = floats(at.once, bandCount * candidates);
  const twice = floats(at.twice, bandCount * candidates);
  curves.forEach((curve, band) => {
    for (let j = 0; j < candidates; j++) {
      let [sum, squares] = [0, 0];
      for (let i = 0; i < frames; i++) {
        const value = curve[j * frames + i]!;
        laid[(band * candidates + j) * stride + i] = value;
        sum += value;
        squares += value * value;
      }
      once[band * candidates + j] = sum;
      twice[band * candidates + j] = squares;
    }
  });
  return {
    take(band, energies, window, floor, independent, found) {
      const start = band * stride;
      let [sum, squares, top] = [0, 0, 0];
      for (let i = 0; i < frames; i++) {
        const value = energies[i]![window]! * factors[i]! - floor;
        energy[start + i] = value;
        sum += value;
        squares += value * value;
        if (value > top) top = value;
      }
      const model2 = (curveError * top) ** 2;
      const variance = (2 / independent) * (floor ** 2 + (2 * floor * Math.max(0, sum)) / frames) + model2;
      const n = frames + variance / Math.max((0.1 * floor) ** 2 + model2, Number.MIN_VALUE);
      const mean = sum / n;
      for (let i = 0; i < frames; i++) energy[start + i] = energy[start + i]! - mean;
      const known = variance > 0 && top > 0;
      perBand[2 * band] = n;
      perBand[2 * band + 1] = known ? variance : 0;
      found.nullChi2 = known ? (squares - sum * mean) / variance : 0;
      found.weightedPeak2 = known ? (frames * top ** 2) / variance : 0;
    },
    explained({ first, step, count }) {
      kernel.explain(
        at.energy,
        at.curves,
        at.once,
        at.twice,
        at.perBand,
        bandCount,
        stride,
        candidates,
        first,
        step,
        count,
        at.out,
      );
      return out.subarray(0, count);
    },
  };
}
