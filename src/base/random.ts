import { requireInteger } from './require.js';

/** A stream of random numbers that is the same for the same seed, on every machine. */
export interface Random {
  /** Uniform in [0, 1). */
  uniform(): number;
  /** Standard normal (mean 0, variance 1). */
  normal(): number;
  /** A new, independent stream named by `label`: adding a consumer does not disturb the others. */
  fork(label: string): Random;
}

/**
 * Seeded random numbers.
 *
 * Model    sfc32 (Chris Doty-Humphrey, PractRand), 128-bit state, seeded by splitmix32; normals by Marsaglia's polar method.
 * Throws   RangeError if the seed is not a whole number 0 … 2^32 − 1.
 * Trust    not for cryptography.
 * Checked  property: moments and independence in tests/base/random.test.ts
 */
export function seededRandom(seed: number): Random {
  requireInteger('seed', seed, { min: 0, max: 0xffffffff });
  const mix = splitmix32(seed);
  let a = mix();
  let b = mix();
  let c = mix();
  let d = 1;
  const next = (): number => {
    const t = (((a + b) | 0) + d) | 0;
    d = (d + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = ((c << 21) | (c >>> 11)) + t;
    c |= 0;
    return t >>> 0;
  };
  for (let i = 0; i < 12; i++) next();
  let spare: number | null = null;
  const uniform = () => next() / 4294967296;
  return {
    uniform,
    normal() {
      if (spare !== null) {
        const kept = spare;
        spare = null;
        return kept;
      }
      for (;;) {
        const u = 2 * uniform() - 1;
        const v = 2 * uniform() - 1;
        const s = u * u + v * v;
        if (s > 0 && s < 1) {
          const k = Math.sqrt((-2 * Math.log(s)) / s);
          spare = v * k;
          return u * k;
        }
      }
    },
    fork: (label) => seededRandom((seed ^ fnv1a(label)) >>> 0),
  };
}

function splitmix32(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x9e3779b9) | 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
    z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
    return z ^ (z >>> 16);
  };
}

/** 32-bit FNV-1a hash of a text; used to name random streams. */
function fnv1a(text: string): number {
  let h = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) h = Math.imul(h ^ text.charCodeAt(i), 0x01000193);
  return h >>> 0;
}
