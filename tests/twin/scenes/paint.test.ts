import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Canvas } from '../../../src/twin/index.js';
import { paintDisc } from '../../../src/twin/scenes/paint-disc.js';
import { paintGrain } from '../../../src/twin/scenes/paint-grain.js';
import { paintPolygon, turnedSquare } from '../../../src/twin/scenes/paint-polygon.js';

const blank = (): Canvas => ({
  columnCount: 90,
  rowCount: 70,
  cellWidthMm: 0.11,
  cellHeightMm: 0.1,
  reflectance: new Float32Array(90 * 70),
});
const paintedMm2 = ({ reflectance, cellWidthMm, cellHeightMm }: Canvas) =>
  reflectance.reduce((sum, value) => sum + value, 0) * cellWidthMm * cellHeightMm;

describe('painting', () => {
  it('property: a square covers exactly its area, wherever and however it is turned', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1.5, max: 1.5, noNaN: true }),
        fc.double({ min: -1.2, max: 1.2, noNaN: true }),
        fc.double({ min: -90, max: 90, noNaN: true }),
        fc.double({ min: 0.02, max: 2.8, noNaN: true }),
        (xMm, yMm, angleDeg, sideMm) => {
          const canvas = blank();
          paintPolygon(canvas, turnedSquare({ middle: { xMm, yMm }, sideMm, angleDeg }), 1);
          expect(Math.abs(paintedMm2(canvas) - sideMm ** 2)).toBeLessThan(1e-5 * (1 + sideMm ** 2));
        },
      ),
    );
  });

  it('closed form: an upright edge that halves a cell covers half of it', () => {
    const canvas = { ...blank(), columnCount: 3, rowCount: 1, reflectance: new Float32Array(3) };
    const corner = (xMm: number, yMm: number) => ({ xMm, yMm });
    paintPolygon(canvas, [corner(0, -1), corner(5, -1), corner(5, 1), corner(0, 1)], 1);
    expect(Array.from(canvas.reflectance)).toEqual([0, 0.5, 1]);
  });

  it('property: disc and ring cover their area to 2 %', () => {
    const disc = blank();
    paintDisc(disc, { middle: { xMm: 0.3, yMm: -0.2 }, radiusMm: 1.7 }, 1);
    expect(paintedMm2(disc) / (Math.PI * 1.7 ** 2)).toBeCloseTo(1, 2);
    const ring = blank();
    paintDisc(ring, { middle: { xMm: 0, yMm: 0 }, radiusMm: 2, innerRadiusMm: 1.4 }, 1);
    expect(paintedMm2(ring) / (Math.PI * (2 ** 2 - 1.4 ** 2))).toBeCloseTo(1, 2);
    const pinhole = blank();
    paintDisc(pinhole, { middle: { xMm: 0.02, yMm: 0.01 }, radiusMm: 0.1 }, 1);
    expect(Math.abs(paintedMm2(pinhole) / (Math.PI * 0.01) - 1)).toBeLessThan(0.2);
  });

  it('property: grain keeps its mean and its place when the canvas has other cells', () => {
    const layers = [{ sizeMm: 2, strengthRatio: 0.05 }];
    const fine: Canvas = {
      ...blank(),
      columnCount: 400,
      rowCount: 300,
      cellWidthMm: 0.05,
      cellHeightMm: 0.05,
      reflectance: new Float32Array(120_000),
    };
    const coarse: Canvas = {
      ...fine,
      columnCount: 200,
      rowCount: 150,
      cellWidthMm: 0.1,
      cellHeightMm: 0.1,
      reflectance: new Float32Array(30_000),
    };
    paintGrain(fine, { mean: 0.5, seed: 3, layers });
    paintGrain(coarse, { mean: 0.5, seed: 3, layers });
    for (const [row, column] of [
      [20, 30],
      [75, 100],
      [120, 180],
    ] as const) {
      const four = [0, 1].flatMap((i) => [0, 1].map((j) => fine.reflectance[(2 * row + i) * 400 + 2 * column + j]!));
      const mean = four.reduce((sum, value) => sum + value, 0) / 4;
      expect(coarse.reflectance[row * 200 + column]).toBeCloseTo(mean, 3);
    }
    const mean = fine.reflectance.reduce((sum, value) => sum + value, 0) / 120_000;
    expect(mean).toBeCloseTo(0.5, 1);
  });
});
