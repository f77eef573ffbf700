import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { decodeImage, type GreyImage, measureGrid, measureStar } from '../../../src/image/index.js';

const folder = 'references/targets-geometry';

interface GridTruth {
  file: string;
  pattern: 'dots' | 'checker';
  angleDeg: number;
  k1: number;
  mmPerPxAtCentre: number;
  blurSigmaPx: number;
  missing: number[][];
  points: [column: number, row: number, xPx: number, yPx: number][];
  opencv?: { cornerRmsPx: number; k1HalfDiagonal: number };
}
const { grids } = JSON.parse(readFileSync(`${folder}/truth.json`, 'utf8')) as { grids: GridTruth[] };
const imageOf = (file: string): GreyImage => decodeImage(readFileSync(`${folder}/${file}`), file);

describe.each(grids)('grid of known geometry rendered by numpy: $file', (grid) => {
  const reading = measureGrid({ image: imageOf(grid.file), pitchMm: 1 });
  if (reading.kind !== 'measured') throw new Error(reading.message);

  it('reference: pattern told by itself; every point lies where it was drawn', () => {
    expect(reading.pattern).toBe(grid.pattern);
    const misses = reading.points.flatMap(({ xPx, yPx }) => {
      const nearest = Math.min(...grid.points.map(([, , x, y]) => Math.hypot(x - xPx, y - yPx)));
      return nearest < 2 ? [nearest] : [];
    });
    expect(misses.length).toBeGreaterThan(0.7 * grid.points.length);
    const rms = Math.sqrt(misses.reduce((sum, v) => sum + v * v, 0) / misses.length / 2);
    // checker_plain: the drawing itself is 0.05 px off, its edges lie along the rows of samples; OpenCV sees the same.
    expect(rms).toBeLessThan(grid.file === 'checker_plain.png' ? 0.07 : 0.05);
    if (grid.opencv) expect(rms).toBeLessThan(1.15 * grid.opencv.cornerRmsPx);
  });

  it('reference: scale and turn', () => {
    expect(Math.abs(reading.pixelMm.value / grid.mmPerPxAtCentre - 1)).toBeLessThan(2e-3);
    if (grid.k1 === 0) expect(Math.abs(reading.pixelMm.value / grid.mmPerPxAtCentre - 1)).toBeLessThan(2e-5);
    expect(Math.abs(reading.rotationDeg.value - grid.angleDeg)).toBeLessThan(0.05);
  });

  it('reference: distortion within three stated deviations and 0.001', () => {
    const { value, std } = reading.cornerDistortionFraction;
    expect(Math.abs(value - grid.k1)).toBeLessThan(3 * std! + 1e-4);
    expect(Math.abs(value - grid.k1)).toBeLessThan(1e-3);
    if (Math.abs(grid.k1) > 0) {
      expect(Math.abs(reading.distortionCentreXPx.value - 205.5)).toBeLessThan(
        3 * reading.distortionCentreXPx.std! + 0.3,
      );
      expect(Math.abs(reading.distortionCentreYPx.value - 155.5)).toBeLessThan(
        3 * reading.distortionCentreYPx.std! + 0.3,
      );
    }
  });

  it('property: points that are missing are not invented, and the grid grows around them', () => {
    for (const [column, row] of grid.missing) {
      const [, , x, y] = grid.points.find(([c, r]) => c === column && r === row)!;
      expect(reading.points.every(({ xPx, yPx }) => Math.hypot(xPx - x, yPx - y) > 3)).toBe(true);
    }
  });
});

/** Discs of a pitch with a soft edge, drawn by their distance, without distortion; `offset` in pitches moves rows over the rim. */
function discGrid({
  pitchPx,
  radius,
  blurPx,
  offset,
}: {
  pitchPx: number;
  radius: number;
  blurPx: number;
  offset: number;
}) {
  const [widthPx, heightPx] = [420, 340];
  const random = seededRandom(3);
  const data = new Uint8Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const [u, v] = [(x - widthPx / 2) / pitchPx + 0.7 * offset, (y - heightPx / 2) / pitchPx + offset];
      const far = Math.hypot(u - Math.round(u), v - Math.round(v)) * pitchPx;
      const cover = 1 / (1 + Math.exp((-1.702 * (radius * pitchPx - far)) / blurPx));
      data[y * widthPx + x] = Math.round((0.85 - 0.7 * cover) * 200 * (1 + 0.2 * (x / widthPx)) + random.normal());
    }
  }
  return { widthPx, heightPx, bitDepth: 8, data };
}

describe('dots that the frame cuts, and dots near each other', () => {
  const cases = [0.2, 0.32, 0.42].flatMap((radius) => [0, 0.25, 0.5, 0.75].map((offset) => ({ radius, offset })));
  it.each(cases)(
    'closed form: radius $radius of the pitch, rows over the rim by $offset: no distortion, true scale',
    ({ radius, offset }) => {
      for (const blurPx of [0.6, 1.5]) {
        const reading = measureGrid({ image: discGrid({ pitchPx: 26, radius, blurPx, offset }), pitchMm: 1 });
        if (reading.kind !== 'measured') throw new Error(reading.message);
        expect(reading.pattern).toBe('dots');
        expect(Math.abs(reading.pixelMm.value * 26 - 1)).toBeLessThan(1e-4);
        expect(Math.abs(reading.cornerDistortionFraction.value)).toBeLessThan(radius < 0.4 ? 3e-4 : 5e-4);
      }
    },
  );
});

describe('pictures without a grid', () => {
  it('refuses black, blank, one pixel, a star and a photograph', () => {
    const flat = (value: number, side: number): GreyImage => ({
      widthPx: side,
      heightPx: side,
      bitDepth: 8,
      data: new Uint8Array(side * side).fill(value),
    });
    const photograph = decodeImage(readFileSync('references/height/s_12.png'), 's_12.png');
    for (const image of [
      flat(0, 100),
      flat(128, 100),
      flat(255, 100),
      flat(7, 1),
      imageOf('star_sine.png'),
      photograph,
    ]) {
      expect(measureGrid({ image, pitchMm: 1 }).kind).toBe('refused');
    }
  });

  it('refuses a pitch that is not positive', () => {
    expect(() => measureGrid({ image: imageOf('dots_plain.png'), pitchMm: 0 })).toThrow(/pitchMm is 0 mm; allowed/);
  });

  it('refuses a black and a white frame in words of their light, as a star does', () => {
    for (const [grey, words] of [
      [0, /black/],
      [255, /largest grey value/],
    ] as const) {
      const image = { widthPx: 200, heightPx: 150, bitDepth: 8, data: new Uint8Array(30_000).fill(grey) };
      expect(measureGrid({ image, pitchMm: 1 })).toMatchObject({
        kind: 'refused',
        message: expect.stringMatching(words),
      });
      expect(measureStar({ image, cycles: 36 })).toMatchObject({
        kind: 'refused',
        message: expect.stringMatching(words),
      });
    }
  });
});
