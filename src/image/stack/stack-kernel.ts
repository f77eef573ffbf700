import { instantiateKernel, type KernelMemory } from '../../base/index.js';
import { stackWasm } from '../stack.wasm.js';

/** The compiled kernels of assembly/stack.ts with the memory that they work in. Addresses are bytes. */
export interface StackKernel extends KernelMemory {
  firstBand(
    grey: number,
    greyWidthPx: number,
    widthPx: number,
    heightPx: number,
    blockPx: number,
    energy: number,
    half: number,
    halfStride: number,
    lines: number,
    greyMeans: number,
    greyTops: number,
  ): void;
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
    greyMeans: number,
    greyTops: number,
  ): void;
  smoothMap(map: number, columns: number, rows: number, across: number, out: number): void;
  scaleMap(
    map: number,
    columns: number,
    rows: number,
    downFirst: number,
    downWeights: number,
    acrossFirst: number,
    acrossWeights: number,
    line: number,
    out: number,
  ): void;
  pixelPowers(
    blocks: number,
    columns: number,
    rows: number,
    blockPx: number,
    first: number,
    share: number,
    widthPx: number,
    from: number,
    to: number,
    line: number,
    out: number,
  ): void;
  tileRange(powers: number, widthPx: number, rows: number, lows: number, highs: number): void;
  fuseRows(
    grey: number,
    wide: boolean,
    widthPx: number,
    heightPx: number,
    firstRow: number,
    powers: number,
    lows: number,
    highs: number,
    from: number,
    to: number,
    powerDpt: number,
    halfWidthDpt: number,
    scale: number,
    line: number,
    sum: number,
    weights: number,
  ): void;
  settle(sum: number, weights: number, count: number, top: number, wide: boolean, out: number): void;
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

/** Kernels read and write whole vectors: room behind a last row. */
export const vectorSlack = 64;
