import type { Scene } from '../../src/twin/index.js';

/** Power of a scene in rings of its spectrum, as a perfect lens with the case's pixels would show it. */
export interface SceneSpectrum {
  /** Mean and greatest reflectance over the region. */
  meanRatio: number;
  largestRatio: number;
  rings: { frequencyPerPx: number; coefficientCount: number; powerRatio: number }[];
}

const ringCount = 14;

/**
 * Spectrum of a scene over a square region.
 *
 * Model    cells of one pixel, mean removed, Hann window; mean |F|² / Σ window² in rings of equal ratio from three cycles a
 *          region to half a cycle a pixel. Half of the coefficients are independent, an image being real
 * Returns  power per coefficient in units of the variance of one pixel
 */
export function sceneSpectrum({
  scene,
  sizePx,
  pixelMm,
  centreXPx,
  centreYPx,
}: {
  scene: Scene;
  sizePx: number;
  pixelMm: number;
  /** Middle of the region, in pixels from the middle of the frame. */
  centreXPx: number;
  centreYPx: number;
}): SceneSpectrum {
  const wide = sizePx + 2 * Math.ceil(Math.max(Math.abs(centreXPx), Math.abs(centreYPx)));
  const canvas = new Float32Array(wide * wide);
  scene.paint({ columnCount: wide, rowCount: wide, cellWidthMm: pixelMm, cellHeightMm: pixelMm, reflectance: canvas });
  const real = new Float64Array(sizePx * sizePx);
  const left = Math.round((wide - sizePx) / 2 + centreXPx);
  const top = Math.round((wide - sizePx) / 2 + centreYPx);
  let mean = 0;
  let largest = 0;
  for (let y = 0; y < sizePx; y++) {
    for (let x = 0; x < sizePx; x++) {
      const value = canvas[(top + y) * wide + left + x]!;
      real[y * sizePx + x] = value;
      mean += value / (sizePx * sizePx);
      largest = Math.max(largest, value);
    }
  }
  const window = Float64Array.from(
    { length: sizePx },
    (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / sizePx),
  );
  let windowSquare = 0;
  for (let y = 0; y < sizePx; y++) {
    for (let x = 0; x < sizePx; x++) {
      const w = window[x]! * window[y]!;
      real[y * sizePx + x] = w * (real[y * sizePx + x]! - mean);
      windowSquare += w * w;
    }
  }
  const imaginary = new Float64Array(sizePx * sizePx);
  transform2d(real, imaginary, sizePx);
  return { meanRatio: mean, largestRatio: largest, rings: ringsOf(real, imaginary, sizePx, windowSquare) };
}

function ringsOf(real: Float64Array, imaginary: Float64Array, sizePx: number, windowSquare: number) {
  const lowest = 3 / sizePx;
  const sums = Array.from({ length: ringCount }, () => ({ power: 0, count: 0, frequency: 0 }));
  for (let ky = 0; ky < sizePx; ky++) {
    for (let kx = 0; kx < sizePx; kx++) {
      const f = Math.hypot(Math.min(kx, sizePx - kx), Math.min(ky, sizePx - ky)) / sizePx;
      if (f < lowest || f >= 0.5) continue;
      const ring = sums[Math.floor((ringCount * Math.log(f / lowest)) / Math.log(0.5 / lowest))]!;
      const at = ky * sizePx + kx;
      ring.power += (real[at]! ** 2 + imaginary[at]! ** 2) / windowSquare;
      ring.count++;
      ring.frequency += f;
    }
  }
  return sums
    .filter(({ count }) => count > 0)
    .map(({ power, count, frequency }) => ({
      frequencyPerPx: frequency / count,
      coefficientCount: count / 2,
      powerRatio: power / count,
    }));
}

/** Fast Fourier transform of a square of 2ⁿ values each way, in place. */
function transform2d(real: Float64Array, imaginary: Float64Array, size: number): void {
  const lineReal = new Float64Array(size);
  const lineImaginary = new Float64Array(size);
  for (const step of [1, size]) {
    for (let line = 0; line < size; line++) {
      const from = step === 1 ? line * size : line;
      for (let i = 0; i < size; i++) {
        lineReal[i] = real[from + i * step]!;
        lineImaginary[i] = imaginary[from + i * step]!;
      }
      transform(lineReal, lineImaginary);
      for (let i = 0; i < size; i++) {
        real[from + i * step] = lineReal[i]!;
        imaginary[from + i * step] = lineImaginary[i]!;
      }
    }
  }
}

/** Radix-2 transform in place (Cooley & Tukey, Math. Comput. 19, 297, 1965). */
function transform(real: Float64Array, imaginary: Float64Array): void {
  const n = real.length;
  for (let i = 1, j = 0; i < n; i++) {
    let bit = n >> 1;
    for (; j & bit; bit >>= 1) j ^= bit;
    j ^= bit;
    if (i < j) {
      [real[i], real[j]] = [real[j]!, real[i]!];
      [imaginary[i], imaginary[j]] = [imaginary[j]!, imaginary[i]!];
    }
  }
  for (let length = 2; length <= n; length *= 2) {
    const angle = (-2 * Math.PI) / length;
    for (let k = 0; k < length / 2; k++) {
      const [c, s] = [Math.cos(angle * k), Math.sin(angle * k)];
      for (let i = k; i < n; i += length) {
        const j = i + length / 2;
        const a = real[j]! * c - imaginary[j]! * s;
        const b = real[j]! * s + imaginary[j]! * c;
        real[j] = real[i]! - a;
        imaginary[j] = imaginary[i]! - b;
        real[i]! += a;
        imaginary[i]! += b;
      }
    }
  }
}
