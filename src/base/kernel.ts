/** Memory that compiled kernels work in, given out from below. Addresses are bytes from its start, at multiples of 64. */
export interface KernelMemory {
  /** Reserves bytes; views made before may be detached. What they hold is left from before. */
  allocate(byteCount: number): number;
  /** Frees everything reserved since `mark` (an address that `allocate` returned). */
  releaseFrom(mark: number): void;
  /** The memory as it is now; valid until the next `allocate`. */
  buffer(): ArrayBuffer;
}

const pageBytes = 65536;
const lineBytes = 64;
const wholeLines = (byteCount: number) => Math.ceil(byteCount / lineBytes) * lineBytes;

/**
 * A fresh instance of compiled kernels (assembly/), with memory of its own.
 *
 * Throws   WebAssembly.CompileError where SIMD is not to be had.
 */
export function instantiateKernel<Functions extends object>(wasm: Uint8Array<ArrayBuffer>): Functions & KernelMemory {
  const { exports } = new WebAssembly.Instance(new WebAssembly.Module(wasm));
  const { memory, freeFrom, ...functions } = exports as unknown as Functions & {
    memory: WebAssembly.Memory;
    freeFrom(): number;
  };
  let next = wholeLines(freeFrom());
  return {
    ...(functions as unknown as Functions),
    allocate(byteCount) {
      const at = next;
      next = wholeLines(at + byteCount);
      const missing = next - memory.buffer.byteLength;
      if (missing > 0) memory.grow(Math.ceil(missing / pageBytes));
      return at;
    },
    releaseFrom(mark) {
      next = mark;
    },
    buffer: () => memory.buffer,
  };
}
