import type { GreyImage } from '../grey-image.js';

/** One frame of a fusion. */
export interface FrameToFuse {
  image: GreyImage;
  focalPowerDpt: number;
  /** Distance in focal power at which the weight of a frame falls to zero. */
  halfWidthDpt: number;
  /** Size of the frame's picture relative to the reference. */
  scale: number;
}

/** The weighted frames added up so far. */
export interface FrameSum {
  sums: Float32Array;
  weights: Float32Array;
}

/**
 * Adds a frame to a fused picture, where it is sharp.
 *
 * Model    selective weights: (1 − (d/h)²)² for |d| < h, d = power that the pixel is sharp at − power of the frame; the frame
 *          is read at middle + scale · (place − middle) by cubic convolution (Keys 1981, a = −1/2)
 * Input    `powersDpt`: for every pixel, without gaps
 * Trust    beside a step in height the blur of the nearer side covers the farther one in every frame: a fringe remains.
 * Source   selective fusion: after Pertuz, Puig, Garcia & Fusiello, IEEE TIP 22, 1242 (2013), with the weight from the model
 * Checked  degenerate: one picture in all frames comes out as it went in, tests/image/stack/fuse-frames.test.ts
 */
export function addFrame(into: FrameSum, powersDpt: Float32Array, frame: FrameToFuse): void {
  const { image, focalPowerDpt, halfWidthDpt, scale } = frame;
  const { widthPx, heightPx, data } = image;
  const at = (x: number, y: number) =>
    data[Math.min(Math.max(y, 0), heightPx - 1) * widthPx + Math.min(Math.max(x, 0), widthPx - 1)]!;
  for (let y = 0; y < heightPx; y++) {
    const fromY = (heightPx - 1) / 2 + scale * (y - (heightPx - 1) / 2);
    const row = Math.floor(fromY);
    for (let x = 0; x < widthPx; x++) {
      const pixel = y * widthPx + x;
      const room = 1 - ((powersDpt[pixel]! - focalPowerDpt) / halfWidthDpt) ** 2;
      if (!(room > 0)) continue;
      const fromX = (widthPx - 1) / 2 + scale * (x - (widthPx - 1) / 2);
      const column = Math.floor(fromX);
      const lines = [-1, 0, 1, 2].map((dy) =>
        cubic(fromX - column, [-1, 0, 1, 2].map((dx) => at(column + dx, row + dy)) as Four),
      ) as Four;
      into.sums[pixel] = into.sums[pixel]! + room ** 2 * cubic(fromY - row, lines);
      into.weights[pixel] = into.weights[pixel]! + room ** 2;
    }
  }
}

type Four = [number, number, number, number];

const cubic = (t: number, [a, b, c, d]: Four): number =>
  b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));

/**
 * Width of the weights: the frames within a quarter wave share, and neighbours always meet.
 *
 * Input    powers of the frames; `quarterWaveHalfWidthDpt` of the model
 */
export function fusionHalfWidthDpt({
  focalPowersDpt,
  quarterWaveHalfWidthDpt,
}: {
  focalPowersDpt: readonly number[];
  quarterWaveHalfWidthDpt: number;
}): number {
  const sorted = [...new Set(focalPowersDpt)].sort((a, b) => a - b);
  const widest = sorted.slice(1).reduce((most, power, i) => Math.max(most, power - sorted[i]!), 0);
  return Math.max(0.6 * quarterWaveHalfWidthDpt, 1.001 * widest);
}

/** The fused picture, with the bit depth of the frames. */
export function fusedImage({
  parts,
  widthPx,
  heightPx,
  bitDepth,
}: {
  /** Sums of one or more workers. */
  parts: readonly FrameSum[];
  widthPx: number;
  heightPx: number;
  bitDepth: number;
}): GreyImage {
  const count = widthPx * heightPx;
  const data = bitDepth === 8 ? new Uint8Array(count) : new Uint16Array(count);
  const top = 2 ** bitDepth - 1;
  for (let i = 0; i < count; i++) {
    let sum = 0;
    let weight = 0;
    for (const part of parts) {
      sum += part.sums[i]!;
      weight += part.weights[i]!;
    }
    data[i] = weight > 0 ? Math.min(top, Math.max(0, Math.round(sum / weight))) : 0;
  }
  return { widthPx, heightPx, bitDepth, data };
}
