import { frameWasm } from '../frame.wasm.js';

/** The compiled kernels with the memory that they work in. Addresses are bytes from its start. */
export interface FrameKernel {
  transform(from: number, to: number, plan: number): number;
  analyseScene(job: number): void;
  blurColumns(job: number): void;
  blurRows(job: number): void;
  expose(job: number): void;
  /** Reserves bytes, zeroed, at a multiple of 64; views made before may be detached. */
  allocate(byteCount: number): number;
  /** Frees everything reserved since `mark` (an address that `allocate` returned). */
  releaseFrom(mark: number): void;
  /** The memory as it is now; valid until the next `allocate`. */
  buffer(): ArrayBuffer;
}

const pageBytes = 65536;
const lineBytes = 64;

/** A fresh instance of the kernels in assembly/, with memory of its own. */
export function frameKernel(): FrameKernel {
  const { exports } = new WebAssembly.Instance(new WebAssembly.Module(frameWasm));
  const kernel = exports as unknown as Omit<FrameKernel, 'allocate' | 'releaseFrom' | 'buffer'> & {
    memory: WebAssembly.Memory;
    freeFrom(): number;
  };
  const { memory } = kernel;
  let next = Math.ceil(kernel.freeFrom() / lineBytes) * lineBytes;
  return {
    transform: kernel.transform,
    analyseScene: kernel.analyseScene,
    blurColumns: kernel.blurColumns,
    blurRows: kernel.blurRows,
    expose: kernel.expose,
    allocate(byteCount) {
      const at = next;
      next = Math.ceil((at + byteCount) / lineBytes) * lineBytes;
      const missing = next - memory.buffer.byteLength;
      if (missing > 0) memory.grow(Math.ceil(missing / pageBytes));
      new Uint8Array(memory.buffer, at, next - at).fill(0);
      return at;
    },
    releaseFrom(mark) {
      next = mark;
    },
    buffer: () => memory.buffer,
  };
}
