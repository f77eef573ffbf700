import { stackWasm } from '../stack.wasm.js';

/** The compiled kernels of assembly/stack.ts with the memory that they work in. Addresses are bytes from its start. */
export interface StackKernel {
  loadFrame(grey: number, wide: boolean, widthPx: number, heightPx: number, image: number, stride: number): void;
  bandLevel(
    image: number,
    widthPx: number,
    heightPx: number,
    stride: number,
    blockPx: number,
    energy: number,
    half: number,
    halfStride: number,
    lines: number,
    grey: number,
    wide: boolean,
    greyWidthPx: number,
    greySums: number,
    greyTops: number,
  ): void;
  addFrame(
    image: number,
    widthPx: number,
    heightPx: number,
    stride: number,
    powers: number,
    powerDpt: number,
    halfWidthDpt: number,
    scale: number,
    sum: number,
    weights: number,
  ): void;
  explain(
    energy: number,
    curves: number,
    once: number,
    twice: number,
    perBand: number,
    bands: number,
    stride: number,
    candidates: number,
    first: number,
    step: number,
    count: number,
    out: number,
  ): void;
  /** Reserves bytes at a multiple of 64; views made before may be detached. */
  allocate(byteCount: number): number;
  /** The memory as it is now; valid until the next `allocate`. */
  buffer(): ArrayBuffer;
}

const pageBytes = 65536;
const lineBytes = 64;

/** A fresh instance, with memory of its own. */
export function stackKernel(): StackKernel {
  const { exports } = new WebAssembly.Instance(new WebAssembly.Module(stackWasm));
  const kernel = exports as unknown as Pick<StackKernel, 'loadFrame' | 'bandLevel' | 'addFrame' | 'explain'> & {
    memory: WebAssembly.Memory;
    freeFrom(): number;
  };
  const { memory } = kernel;
  let next = Math.ceil(kernel.freeFrom() / lineBytes) * lineBytes;
  return {
    loadFrame: kernel.loadFrame,
    bandLevel: kernel.bandLevel,
    addFrame: kernel.addFrame,
    explain: kernel.explain,
    allocate(byteCount) {
      const at = next;
      next = Math.ceil((at + byteCount) / lineBytes) * lineBytes;
      const missing = next - memory.buffer.byteLength;
      if (missing > 0) memory.grow(Math.ceil(missing / pageBytes));
      return at;
    },
    buffer: () => memory.buffer,
  };
}
