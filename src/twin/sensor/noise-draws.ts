import { type Random, seededRandom } from '../../base/index.js';

/** The random numbers of one frame. */
export interface NoiseDraws {
  /** A long table of standard normals, the same for all frames. */
  normals: Float32Array;
  /** Where in the table each row begins. */
  rowOffsets: Uint32Array;
  /** Of the uniform numbers that small means use. */
  poissonSeed: number;
}

const tableLength = 131072;

/**
 * Random numbers for frame after frame: one table of normals, entered by every row of every frame at a place of its own.
 *
 * Model    the table has mean 0 and variance 1 exactly; `frame` depends on seed and frame id alone
 * Trust    two rows share numbers, shifted, once in some fifty pairs: invisible in statistics of pixels, not meant for tests of
 *          randomness.
 */
export function noiseDraws({ seed, strideCount, heightPx }: { seed: number; strideCount: number; heightPx: number }): {
  normals: Float32Array;
  frame(frameId: number): NoiseDraws;
} {
  const random = seededRandom(seed);
  const normals = normalTable(random.fork('normals'), strideCount);
  return {
    normals,
    frame(frameId) {
      const own = random.fork(`frame-${frameId}`);
      const rowOffsets = Uint32Array.from({ length: heightPx }, () => Math.floor(own.uniform() * tableLength));
      return { normals, rowOffsets, poissonSeed: Math.floor(own.uniform() * 4294967296) };
    },
  };
}

function normalTable(random: Random, strideCount: number): Float32Array {
  const drawn = Float64Array.from({ length: tableLength }, () => random.normal());
  const mean = drawn.reduce((sum, value) => sum + value, 0) / tableLength;
  const std = Math.sqrt(drawn.reduce((sum, value) => sum + (value - mean) ** 2, 0) / tableLength);
  return Float32Array.from({ length: tableLength + strideCount }, (_, i) => (drawn[i % tableLength]! - mean) / std);
}
