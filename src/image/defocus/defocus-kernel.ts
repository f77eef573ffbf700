import { instantiateKernel, type KernelMemory } from '../../base/index.js';
import { defocusWasm } from '../defocus.wasm.js';

/** The compiled kernels of assembly/defocus.ts with the memory that they work in. */
export interface DefocusKernel extends KernelMemory {
  beginFrame(scene: number, frame: number): void;
  fit(scene: number, modelError: number): number;
  fitBlurs(scene: number, asked: number, sphericalWaves: number, modelError: number): number;
}

/** A fresh instance, with memory of its own. */
export const defocusKernel = (): DefocusKernel =>
  instantiateKernel<Omit<DefocusKernel, keyof KernelMemory>>(defocusWasm);
