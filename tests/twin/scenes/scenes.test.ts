import { describe, expect, it } from 'vitest';
import { type Canvas, sceneFromImage, scenes } from '../../../src/twin/index.js';
import { chartFor } from '../../../src/twin/scenes/chart.js';
import { fieldOfScene } from '../../../src/twin/scenes/field-of-scene.js';
import { smallStation, withSensor } from '../small-station.js';

const largeStation = withSensor({ widthPx: 1280, heightPx: 1024 });

function painted(scene: { paint(canvas: Canvas): void }, cellMm = 0.2): Canvas {
  const canvas = {
    columnCount: 400,
    rowCount: 320,
    cellWidthMm: cellMm,
    cellHeightMm: cellMm,
    reflectance: new Float32Array(128_000),
  };
  scene.paint(canvas);
  return canvas;
}

describe.each(Object.entries(scenes))('scene %s', (name, sceneOf) => {
  const field = fieldOfScene(largeStation);

  it('property: carries its name, and reflectances lie between 0 and 1', () => {
    const scene = sceneOf(field, 5);
    expect(scene.name).toBe(name);
    const { reflectance } = painted(scene);
    expect(reflectance.every((value) => value >= 0 && value <= 1)).toBe(true);
  });

  it('property: the same seed paints the same, another seed another surface', () => {
    const bytes = (seed: number) => Buffer.from(painted(sceneOf(field, seed)).reflectance.buffer as ArrayBuffer);
    const first = bytes(5);
    expect(first.equals(bytes(5))).toBe(true);
    expect(first.equals(bytes(6))).toBe(false);
  });

  it('property: there is detail at the size of the far pixel, beside the chart', () => {
    const { reflectance } = painted(sceneOf(field, 5), field.farPixelMm);
    let sum = 0;
    for (let row = 5; row < 60; row++) {
      for (let column = 5; column < 395; column++) {
        sum += (reflectance[row * 400 + column + 1]! - reflectance[row * 400 + column]!) ** 2;
      }
    }
    expect(Math.sqrt(sum / (55 * 390))).toBeGreaterThan(0.01);
  });
});

describe('chart', () => {
  it('property: squares are at least 120 pixels at the smallest magnification and fit the near field', () => {
    const field = fieldOfScene(largeStation);
    const chart = chartFor(field);
    expect(chart.squareMiddlesMm).toHaveLength(2);
    expect(chart.squareSideMm / field.farPixelMm).toBeGreaterThanOrEqual(120);
    expect(2 * (chart.squareMiddlesMm[1]! + chart.cardWidthMm / 2)).toBeLessThan(field.nearWidthMm);
    expect(chart.cardHeightMm).toBeLessThan(field.nearHeightMm);
  });

  it('degenerate: a small sensor gets one square that fits', () => {
    const field = fieldOfScene(smallStation);
    const chart = chartFor(field);
    expect(chart.squareMiddlesMm).toHaveLength(1);
    expect(chart.squareMiddlesMm[0]! - chart.squareSideMm / 2).toBeGreaterThan(-field.nearWidthMm / 2);
    expect(chart.cardHeightMm).toBeLessThan(field.nearHeightMm);
  });
});

describe('scene from a photograph', () => {
  const image = { widthPx: 4, heightPx: 2, bitDepth: 8, data: Uint8Array.from([0, 51, 102, 153, 204, 255, 0, 51]) };

  it('closed form: pixels lie where their middles are, values over the largest grey value', () => {
    const canvas = {
      columnCount: 4,
      rowCount: 2,
      cellWidthMm: 0.5,
      cellHeightMm: 0.5,
      reflectance: new Float32Array(8),
    };
    sceneFromImage({ image, pixelMm: 0.5 }).paint(canvas);
    expect(Array.from(canvas.reflectance)).toEqual(Array.from(Float32Array.from(image.data, (value) => value / 255)));
  });

  it('property: beyond its border it is mirrored', () => {
    const canvas = {
      columnCount: 8,
      rowCount: 2,
      cellWidthMm: 0.5,
      cellHeightMm: 0.5,
      reflectance: new Float32Array(16),
    };
    sceneFromImage({ image, pixelMm: 0.5 }).paint(canvas);
    expect(canvas.reflectance.slice(0, 2)).toEqual(Float32Array.from([51 / 255, 0]));
  });

  it('refuses a pixel size that is not > 0 and images that are not whole', () => {
    expect(() => sceneFromImage({ image, pixelMm: 0 })).toThrow(/pixelMm/);
    expect(() => sceneFromImage({ image: { ...image, widthPx: 5 }, pixelMm: 1 })).toThrow(/image\.data/);
  });
});
