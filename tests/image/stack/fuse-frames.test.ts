import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import type { GreyImage } from '../../../src/image/index.js';
import { fillGaps } from '../../../src/image/stack/fill-gaps.js';
import { addFrame, fusedImage, fusionHalfWidthDpt } from '../../../src/image/stack/fuse-frames.js';
import { stackFrames } from '../../../src/image/stack/stack-frames.fast.js';
import { windowEnergies } from '../../../src/image/stack/window-energies.js';

const [widthPx, heightPx] = [70, 54];
const random = seededRandom(4);
const picture = (): GreyImage => ({
  widthPx,
  heightPx,
  bitDepth: 12,
  data: Uint16Array.from({ length: widthPx * heightPx }, () => Math.round(4095 * random.uniform())),
});
const powersDpt = Float32Array.from({ length: widthPx * heightPx }, (_, i) => 1 + (0.2 * (i % widthPx)) / widthPx);
const empty = () => ({ sums: new Float32Array(widthPx * heightPx), weights: new Float32Array(widthPx * heightPx) });

describe('fusion', () => {
  it('degenerate: one picture in all frames comes out as it went in', () => {
    const image = picture();
    const sum = empty();
    for (const focalPowerDpt of [1, 1.05, 1.1, 1.15, 1.2]) {
      addFrame(sum, powersDpt, { image, focalPowerDpt, halfWidthDpt: 0.06, scale: 1 });
    }
    expect(fusedImage({ parts: [sum], widthPx, heightPx, bitDepth: 12 }).data).toEqual(image.data);
  });

  it('property: the compiled kernel gives what the readable version gives, breathing included', () => {
    const worker = stackFrames({ widthPx, heightPx, blockPx: 8 });
    worker.beginFusion(powersDpt);
    const sum = empty();
    for (const [focalPowerDpt, scale] of [
      [1, 0.99],
      [1.1, 1],
      [1.2, 1.013],
    ] as const) {
      const frame = { image: picture(), focalPowerDpt, halfWidthDpt: 0.11, scale };
      addFrame(sum, powersDpt, frame);
      worker.addFrame(frame);
    }
    const fast = worker.fusionSums();
    for (const [i, value] of fast.sums.entries()) expect(Math.abs(value - sum.sums[i]!)).toBeLessThan(0.05);
    for (const [i, value] of fast.weights.entries()) expect(Math.abs(value - sum.weights[i]!)).toBeLessThan(1e-4);
  });

  it('property: some frame always covers a pixel between two powers', () => {
    const focalPowersDpt = [1, 1.02, 1.08, 1.1];
    const half = fusionHalfWidthDpt({ focalPowersDpt, quarterWaveHalfWidthDpt: 0.01 });
    for (let p = 1; p <= 1.1; p += 0.001) expect(focalPowersDpt.some((power) => Math.abs(power - p) < half)).toBe(true);
  });
});

describe('maps of blocks', () => {
  it('closed form: a constant fills every gap with itself, known cells stay', () => {
    const map = new Float32Array(63).fill(7).map((v, i) => (i % 5 === 0 || i > 50 ? Number.NaN : v));
    expect([...fillGaps({ map, columns: 9, rows: 7 })]).toEqual(Array(63).fill(7));
    expect([...fillGaps({ map: new Float32Array(6).fill(Number.NaN), columns: 3, rows: 2 })]).toEqual(Array(6).fill(0));
  });

  it('closed form: a sloping map is scaled about the middle of the frame', () => {
    const [columns, rows, blockPx] = [20, 16, 8];
    const map = Float32Array.from(
      { length: columns * rows },
      (_, b) => 3 * (b % columns) - 2 * Math.floor(b / columns),
    );
    const found = windowEnergies({ map, columns, rows, blockPx, widthPx: 160, heightPx: 128, scale: 1.02 });
    for (const [c, r] of [
      [7, 6],
      [12, 9],
      [9, 8],
    ] as const) {
      const at = (b: number, middle: number) => middle + 1.02 * (b - middle);
      expect(found[r * columns + c]).toBeCloseTo(3 * at(c, 9.5) - 2 * at(r, 7.5), 3);
    }
  });
});
