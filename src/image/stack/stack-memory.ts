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
  /** Frame by frame: what its light falls short of the mean, as a factor of energies. */
  lightFactors: Float32Array;
  /** Mean energy of each block itself over the frames. */
  textures: Float32Array;
  /** The focal power that each block is sharp at, gaps filled. */
  blockPowersDpt: Float32Array;
  /** The fused picture. */
  picture: Uint8Array | Uint16Array;
  /** The first frames themselves, as many as are kept for the picture. */
  kept: (Uint8Array | Uint16Array)[];
}

/** What the size of a stack's memory depends on. */
export interface StackSize {
  frames: number;
  blocks: number;
  /** 0 where no picture is wanted. */
  pixels: number;
  bitDepth: number;
  keptFrames: number;
}

/** Bytes of one frame's grey values. */
export const frameBytes = ({ pixels, bitDepth }: { pixels: number; bitDepth: number }): number =>
  pixels * (bitDepth > 8 ? 2 : 1);

/** Bytes that a stack needs, frames that are kept included. */
export const stackMemoryBytes = (size: StackSize): number => {
  const { frames, blocks, keptFrames } = size;
  return (
    frames * blocks * (4 * mapsPerFrame + 5) + frames * 4 + blocks * 21 + (keptFrames + 1) * (frameBytes(size) + 8) + 64
  );
};

/** Lays the arrays into one buffer of stackMemoryBytes. */
export function stackMemory(
  buffer: ArrayBufferLike,
  { frames, blocks, pixels, bitDepth, keptFrames }: StackSize,
): StackMemory {
  let at = 0;
  const floats = (count: number) => {
    const array = new Float32Array(buffer, at, count);
    at += 4 * count;
    return array;
  };
  const bytes = (count: number) => {
    const array = new Uint8Array(buffer, at, count);
    at += count;
    return array;
  };
  const grey = () => {
    at = Math.ceil(at / 2) * 2;
    const array = bitDepth > 8 ? new Uint16Array(buffer, at, pixels) : new Uint8Array(buffer, at, pixels);
    at += array.byteLength;
    return array;
  };
  return {
    windows: floats(frames * mapsPerFrame * blocks),
    meansDn: floats(frames * blocks),
    bestFocusDpt: floats(blocks),
    bestFocusStdDpt: floats(blocks),
    noiseVarianceDn2: floats(blocks),
    lightFactors: floats(frames),
    textures: floats(blocks),
    blockPowersDpt: floats(blocks),
    saturated: bytes(frames * blocks),
    refusals: bytes(blocks),
    picture: grey(),
    kept: Array.from({ length: keptFrames }, grey),
  };
}
