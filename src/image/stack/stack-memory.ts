import { bandCount } from './band-energies.js';

/** Maps of one frame: the bands' windows, and the texture of each block itself. */
export const mapsPerFrame = bandCount + 1;

/** What the workers of a stack share. Over shared memory several threads can fill it, each its own part. */
export interface StackMemory {
  /** Frame by frame: mapsPerFrame maps of all blocks. */
  windows: Float32Array;
  /** Frame by frame: mean grey value of each block. */
  meansDn: Float32Array;
  /** Frame by frame: 1 where a pixel of the block has the largest grey value. */
  saturated: Uint8Array;
  bestFocusDpt: Float32Array;
  bestFocusStdDpt: Float32Array;
  refusals: Uint8Array;
  /** Variance of a pixel's noise in each block. */
  noiseVarianceDn2: Float32Array;
  /** For every pixel: the focal power that it is sharp at, gaps filled. */
  powersDpt: Float32Array;
}

/** Bytes that a stack needs beside the frames themselves. */
export const stackMemoryBytes = ({
  frames,
  blocks,
  pixels,
}: {
  frames: number;
  blocks: number;
  pixels: number;
}): number => frames * blocks * (4 * mapsPerFrame + 5) + blocks * 13 + pixels * 4 + 64;

/** Lays the arrays into one buffer of stackMemoryBytes. */
export function stackMemory(
  buffer: ArrayBufferLike,
  { frames, blocks, pixels }: { frames: number; blocks: number; pixels: number },
): StackMemory {
  let at = 0;
  const floats = (count: number) => {
    const array = new Float32Array(buffer, at, count);
    at += 4 * count;
    return array;
  };
  const windows = floats(frames * mapsPerFrame * blocks);
  const meansDn = floats(frames * blocks);
  const bestFocusDpt = floats(blocks);
  const bestFocusStdDpt = floats(blocks);
  const noiseVarianceDn2 = floats(blocks);
  const powersDpt = floats(pixels);
  const saturated = new Uint8Array(buffer, at, frames * blocks);
  const refusals = new Uint8Array(buffer, at + frames * blocks, blocks);
  return { windows, meansDn, saturated, bestFocusDpt, bestFocusStdDpt, refusals, noiseVarianceDn2, powersDpt };
}
