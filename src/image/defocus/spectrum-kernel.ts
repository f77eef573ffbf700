import { instantiateKernel, type KernelMemory } from '../../base/index.js';
import { spectrumWasm } from '../spectrum.wasm.js';

/** The compiled kernels of assembly/spectrum.ts with the memory that they work in. */
export interface SpectrumKernel extends KernelMemory {
  meanUnderWindow(spectrum: number, perSum: number): number;
  ringSums(spectrum: number, meanDn: number, isScaled: boolean): void;
  scaleRings(spectrum: number, scaleRatio: number): void;
}

/** A fresh instance, with memory of its own. */
export const spectrumKernel = (): SpectrumKernel =>
  instantiateKernel<Omit<SpectrumKernel, keyof KernelMemory>>(spectrumWasm);
