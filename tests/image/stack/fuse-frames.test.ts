import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import type { GreyImage } from '../../../src/image/index.js';
import { blocksToPixels, fillGaps } from '../../../src/image/stack/fill-gaps.js';
import { fusionRows } from '../../../src/image/stack/fuse-frames.fast.js';
import { addFrame, fusedImage, fusionHalfWidthDpt } from '../../../src/image/stack/fuse-frames.js';

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

  it.each([
    ['whole picture, 12 bit', 12, [[0, 54]]],
    ['whole picture, 8 bit', 8, [[0, 54]]],
    [
      'in parts that begin anywhere',
      8,
      [
        [0, 5],
        [5, 33],
        [33, 54],
      ],
    ],
  ] as const)(
    'property: the compiled kernel gives what the readable version gives, breathing included: %s',
    (_, bitDepth, parts) => {
      const [blockPx, columns, rows, halfWidthDpt] = [8, 8, 6, 0.11];
      const blockPowersDpt = Float32Array.from(
        { length: columns * rows },
        (_, b) => 0.98 + 0.03 * (b % columns) + 0.01 * (b >> 3),
      );
      const frames = (
        [
          [1, 0.93],
          [1.1, 1],
          [1.16, 1.013],
          [1.2, 1.08],
        ] as const
      ).map(([focalPowerDpt, scale]) => {
        const image = picture();
        if (bitDepth === 8)
          Object.assign(image, { bitDepth, data: Uint8Array.from(image.data, (value) => value >> 4) });
        return { image, focalPowerDpt, scale };
      });
      const sum = empty();
      const powers = blocksToPixels({ map: blockPowersDpt, columns, rows, blockPx, widthPx, heightPx });
      for (const frame of frames) addFrame(sum, powers, { ...frame, halfWidthDpt });
      const plain = fusedImage({ parts: [sum], widthPx, heightPx, bitDepth }).data;
      const scales = frames.map(({ scale }) => scale);
      const worker = fusionRows({ widthPx, heightPx, blockPx, bitDepth, scales, halfWidthDpt });
      for (const [from, to] of parts) {
        worker.begin({ from, to, blockPowersDpt });
        for (const frame of frames) worker.add(frame);
        worker.settled().forEach((value, i) => {
          const pixel = from * widthPx + i;
          const exact = sum.sums[pixel]! / sum.weights[pixel]!;
          // Off by one only where the quotient lies at a half, within single precision.
          if (Math.abs(exact - Math.floor(exact) - 0.5) > 1e-3) expect(value).toBe(plain[pixel]);
          else expect(Math.abs(value - plain[pixel]!)).toBeLessThanOrEqual(1);
        });
      }
    },
  );

  it('refuses a frame of another size or depth, and one before it has begun', () => {
    const worker = fusionRows({ widthPx, heightPx, blockPx: 8, bitDepth: 8, scales: [1], halfWidthDpt: 0.1 });
    const frame = { image: picture(), focalPowerDpt: 1, scale: 1 };
    expect(() => worker.add(frame)).toThrow('allowed: begin first');
    worker.begin({ from: 0, to: 8, blockPowersDpt: new Float32Array(48) });
    expect(() => worker.add(frame)).toThrow('70 × 54 px of 12 bit; allowed: 70 × 54 px of 8 bit');
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
});
