import { focusWasm } from '../focus.wasm.js';
import type { FocusSum } from './focus-sums.js';

/** Number of each sum in assembly/focus.ts. */
export const kernelSums = {
  laplacian: 0,
  'laplacian-squares': 1,
  'sobel-squares': 2,
  'forward-squares': 3,
  'two-apart-x-squares': 4,
  'two-apart-y-squares': 5,
  'second-differences': 6,
  'lag-products': 7,
  values: 8,
  'value-squares': 9,
  'haar-details': 10,
  'dct-ratios': 11,
} as const satisfies Record<FocusSum, number>;

/** The compiled kernels with a buffer for a strip of rows. Addresses are bytes from the start of `buffer`. */
export interface FocusKernel {
  sumStrip(kind: number, job: number): void;
  /** Where a strip's description goes. */
  jobAt: number;
  /** Where the pixels of a strip begin. */
  pixelsAt: number;
  /** Makes room for so many bytes of pixels; views made before may be detached. */
  reserve(byteCount: number): ArrayBuffer;
}

const pageBytes = 65536;
/** Kernels read whole vectors: a few bytes beyond the last pixel. */
const slackBytes = 64;

let shared: FocusKernel | null | undefined;

/** The kernels of this thread, made once; null where WebAssembly with SIMD is not to be had. */
export function focusKernel(): FocusKernel | null {
  if (shared === undefined) shared = makeKernel();
  return shared;
}

function makeKernel(): FocusKernel | null {
  if (typeof WebAssembly === 'undefined') return null;
  try {
    const { exports } = new WebAssembly.Instance(new WebAssembly.Module(focusWasm));
    const { memory, freeFrom, sumStrip } = exports as unknown as {
      memory: WebAssembly.Memory;
      freeFrom(): number;
      sumStrip(kind: number, job: number): void;
    };
    const jobAt = Math.ceil(freeFrom() / 64) * 64;
    const pixelsAt = jobAt + 64;
    return {
      sumStrip,
      jobAt,
      pixelsAt,
      reserve(byteCount) {
        const missing = pixelsAt + byteCount + slackBytes - memory.buffer.byteLength;
        if (missing > 0) memory.grow(Math.ceil(missing / pageBytes));
        return memory.buffer;
      },
    };
  } catch {
    return null; // no SIMD, or compiling is not allowed here: the readable version serves
  }
}
