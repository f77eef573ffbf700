import { instantiateKernel, type KernelMemory } from '../../base/index.js';
import { stackWasm } from '../stack.wasm.js';

/** The compiled kernels of assembly/stack.ts with the memory that they work in. */
export interface StackKernel extends KernelMemory {
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
}

/** A fresh instance, with memory of its own. */
export const stackKernel = (): StackKernel => instantiateKernel<Omit<StackKernel, keyof KernelMemory>>(stackWasm);
