import { instantiateKernel, type KernelMemory } from '../../base/index.js';
import { frameWasm } from '../frame.wasm.js';

/** The compiled kernels with the memory that they work in; what `allocate` reserves is zeroed. */
export interface FrameKernel extends KernelMemory {
  transform(from: number, to: number, plan: number): number;
  analyseScene(job: number): void;
  blurColumns(job: number): void;
  blurRows(job: number): void;
  expose(job: number): void;
}

/** A fresh instance of the kernels in assembly/, with memory of its own. */
export function frameKernel(): FrameKernel {
  const kernel = instantiateKernel<Omit<FrameKernel, keyof KernelMemory>>(frameWasm);
  return {
    ...kernel,
    allocate(byteCount) {
      const at = kernel.allocate(byteCount);
      new Uint8Array(kernel.buffer(), at, Math.ceil(byteCount / 64) * 64).fill(0);
      return at;
    },
  };
}
