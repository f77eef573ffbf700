import { describe, expect, it } from 'vitest';
import { focusTilt, type GreyImage, type HeightMap, heightPicture } from '../../../src/image/index.js';
import { predictedMagnification } from '../../../src/station/index.js';
import { referenceSweep, stacked } from './reference-sweep.js';

const sweep = referenceSweep();
const images = sweep.frames.map(({ image }) => image);
const { heights, columns, worker, memory } = stacked(images, sweep);

const truthOf = (b: number) => sweep.truth.depthMm[Math.floor(b / columns)]![b % columns]!;
const rms = (values: readonly number[]) => Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);

describe('height map of a surface rendered by numpy, depth known for every pixel', () => {
  const map: HeightMap = heights!;
  const errors = [...map.heightsMm].flatMap((height, b) =>
    Number.isNaN(height) ? [] : [{ b, error: map.zeroWorkingDistanceMm - height - truthOf(b), std: map.stdsMm[b]! }],
  );

  it('reference: rms error within a twentieth of the depth of field, largest within a fifth', () => {
    const found = rms(errors.map(({ error }) => error));
    expect(map.depthOfFieldMm).toBeCloseTo(5.24, 0);
    expect(found).toBeLessThan(map.depthOfFieldMm / 20);
    expect(Math.max(...errors.map(({ error }) => Math.abs(error)))).toBeLessThan(map.depthOfFieldMm / 5);
    expect(map.summary.validFraction).toBeGreaterThan(0.95);
  });

  it('reference: two stated standard deviations cover the truth in at least nine of ten blocks, and are not idle', () => {
    const covered = errors.filter(({ error, std }) => Math.abs(error) < 2 * std).length / errors.length;
    expect(covered).toBeGreaterThan(0.9);
    const middle = errors.map(({ std }) => std).sort((a, b) => a - b)[errors.length >> 1]!;
    expect(middle).toBeLessThan(map.depthOfFieldMm / 15);
  });

  it('reference: the middle of the blank disc has no height', () => {
    const { xPx, yPx, radiusPx } = sweep.truth.blank;
    const inner = [...map.heightsMm].filter((_, b) => {
      const [x, y] = [((b % columns) + 0.5) * 8, (Math.floor(b / columns) + 0.5) * 8];
      return Math.hypot(x - xPx, y - yPx) < radiusPx - 16;
    });
    expect(inner.length).toBeGreaterThan(2);
    expect(inner.every(Number.isNaN)).toBe(true);
  });

  it('reference: tilt and curvature agree with those of the known surface', () => {
    const magnification = predictedMagnification({ station: sweep.station, workingDistanceMm: 307 })!;
    const request = { widthPx: 256, heightPx: 192, magnification, pixelPitchUm: 5.5, flangeWidthMm: 29 };
    const tilt = focusTilt({ heights: map, ...request });
    const zeroMm = map.zeroWorkingDistanceMm;
    const exact: HeightMap = {
      ...map,
      heightsMm: Float32Array.from(map.heightsMm, (h, b) => (Number.isNaN(h) ? h : zeroMm - truthOf(b))),
    };
    const wanted = focusTilt({ heights: exact, ...request });
    if (tilt.kind !== 'measured' || wanted.kind !== 'measured') throw new Error('refused');
    for (const key of ['tiltXDeg', 'tiltYDeg', 'middleMm', 'cornerSagMm'] as const) {
      expect(Math.abs(tilt[key].value - wanted[key].value)).toBeLessThan(2 * tilt[key].std!);
    }
    expect([tilt.shim.horizontalSide, tilt.shim.verticalSide]).toEqual(['right', 'top']);
  });

  it('closed form: the 16-bit picture gives the heights back within half a step', () => {
    const { image, scaleMm, offsetMm } = heightPicture(map);
    image.data.forEach((grey, b) => {
      const height = map.heightsMm[b]!;
      if (Number.isNaN(height)) expect(grey).toBe(0);
      else expect(Math.abs(offsetMm + scaleMm * grey - height)).toBeLessThan(0.51 * scaleMm);
    });
  });

  it('property: the fused picture is as sharp as the sharpest frame everywhere', async () => {
    for (const from of [0, 64, 128]) await worker.fuse({ from, to: from + 64 }, async (i) => images[i]!);
    const fused: GreyImage = { widthPx: 256, heightPx: 192, bitDepth: 8, data: memory.picture };
    for (const [x, y] of [
      [16, 16],
      [120, 40],
      [200, 130],
      [30, 150],
    ] as const) {
      const best = Math.max(...images.map((image) => gradient(image, x, y)));
      expect(gradient(fused, x, y)).toBeGreaterThan(0.8 * best);
    }
  });
});

describe('sweeps without a height', () => {
  const like = (value: (i: number) => number): GreyImage => ({
    widthPx: 256,
    heightPx: 192,
    bitDepth: 8,
    data: Uint8Array.from({ length: 256 * 192 }, (_, i) => value(i)),
  });

  it('refuses black, saturated and blank frames', () => {
    for (const value of [0, 128, 255]) {
      expect(
        stacked(
          images.map(() => like(() => value)),
          sweep,
        ).heights,
      ).toBeNull();
    }
  });

  it('refuses the same picture in every frame: nothing changes with focus', () => {
    const { heights } = stacked(
      images.map(() => images[12]!),
      sweep,
    );
    expect(heights?.summary.validFraction ?? 0).toBeLessThan(0.02);
  });

  it('refuses places whose focus lies outside the sweep, and keeps the others right', () => {
    const short = referenceSweep(9);
    const { heights, memory } = stacked(
      short.frames.map(({ image }) => image),
      short,
    );
    const farthestMm = short.distanceOf(short.frames[8]!.focalPowerDpt)!.workingDistanceMm;
    const outside = [...memory.refusals].filter((_, b) => truthOf(b) < farthestMm - 1.5);
    expect(outside.length).toBeGreaterThan(300);
    expect(outside.filter((code) => code === 0).length / outside.length).toBeLessThan(0.05);
    const errors = [...heights!.heightsMm].flatMap((height, b) =>
      Number.isNaN(height) ? [] : [heights!.zeroWorkingDistanceMm - height - truthOf(b)],
    );
    expect(rms(errors)).toBeLessThan(0.1 * heights!.depthOfFieldMm);
  });
});

function gradient({ data, widthPx }: GreyImage, x0: number, y0: number): number {
  let sum = 0;
  for (let y = y0; y < y0 + 24; y++) {
    for (let x = x0; x < x0 + 24; x++) sum += (data[y * widthPx + x + 1]! - data[y * widthPx + x]!) ** 2;
  }
  return sum;
}
