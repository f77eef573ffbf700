import type { KernelMemory } from './kernel.js';

/** The radices of a length, large ones first. Throws RangeError for a length with other prime factors than 2, 3 and 5. */
export function radicesOf(length: number): number[] {
  const radices: number[] = [];
  let rest = length;
  for (const radix of [4, 5, 3, 2]) {
    while (rest % radix === 0) {
      radices.push(radix);
      rest /= radix;
    }
  }
  if (rest !== 1) throw new RangeError(`length is ${length}; allowed: products of 2, 3 and 5`);
  return radices;
}

/** Writes the plan that `transform` in assembly/fourier.ts reads. Returns its address. */
export function writeTransformPlan(kernel: KernelMemory, length: number): number {
  const radices = radicesOf(length);
  const turns: number[] = [];
  let rest = length;
  for (const radix of radices) {
    for (let p = 0; p < rest / radix; p++) {
      for (let i = 1; i < radix; i++) {
        const angle = (2 * Math.PI * p * i) / rest;
        turns.push(Math.cos(angle), Math.sin(angle));
      }
    }
    rest /= radix;
  }
  const at = kernel.allocate(8 + 4 * radices.length + 4 * turns.length);
  const buffer = kernel.buffer();
  new Uint32Array(buffer, at, 2 + radices.length).set([length, radices.length, ...radices]);
  new Float32Array(buffer, at + 8 + 4 * radices.length, turns.length).set(turns);
  return at;
}
