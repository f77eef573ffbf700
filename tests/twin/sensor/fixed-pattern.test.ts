import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { fieldIllumination } from '../../../src/optics/index.js';
import { layoutModelOf } from '../../../src/station/index.js';
import { illuminationOverField } from '../../../src/twin/illumination.js';
import { fixedPattern } from '../../../src/twin/sensor/fixed-pattern.js';
import { smallStation } from '../small-station.js';

const plain = {
  widthPx: 101,
  heightPx: 81,
  strideCount: 104,
  fullWellE: 10_000,
  nonUniformityRatio: 0,
  darkNonUniformityE: 0,
  deadPixelCount: 0,
  hotPixelCount: 0,
  illuminationAt: () => 1,
  random: seededRandom(1),
};

describe('fixed pattern', () => {
  it('degenerate: without defects and fall-off every pixel responds alike', () => {
    const { response, hotPixels } = fixedPattern(plain);
    for (let y = 0; y < 81; y++) expect(new Set(response.subarray(y * 104, y * 104 + 101))).toEqual(new Set([1]));
    expect(hotPixels).toEqual([]);
  });

  it('property: non-uniformity has the given spread, and defects the given number', () => {
    const { response, hotPixels } = fixedPattern({
      ...plain,
      nonUniformityRatio: 0.01,
      deadPixelCount: 5,
      hotPixelCount: 3,
    });
    const pixels = Array.from({ length: 81 }, (_, y) => Array.from(response.subarray(y * 104, y * 104 + 101))).flat();
    const alive = pixels.filter((value) => value > 0.5);
    expect(pixels.length - alive.length).toBe(5);
    const mean = alive.reduce((sum, value) => sum + value, 0) / alive.length;
    const std = Math.sqrt(alive.reduce((sum, value) => sum + (value - mean) ** 2, 0) / alive.length);
    expect(mean).toBeCloseTo(1, 3);
    expect(std).toBeCloseTo(0.01, 3);
    expect(hotPixels).toHaveLength(3);
  });

  it('closed form: without other defects a pixel responds with the relative illumination at its distance from the middle', () => {
    const { response } = fixedPattern({ ...plain, illuminationAt: (radiusPx) => 1 - radiusPx / 1000 });
    const at = (x: number, y: number) => response[y * 104 + x];
    expect(at(50, 40)).toBe(1);
    expect(at(53, 44)).toBeCloseTo(1 - 5 / 1000, 6);
    expect(at(50, 0)).toBeCloseTo(1 - 40 / 1000, 6);
    for (const x of [0, 100]) for (const y of [0, 80]) expect(at(x, y)).toBeCloseTo(1 - Math.hypot(50, 40) / 1000, 6);
  });

  it('reference: the fall-off is fieldIllumination of src/optics times the hidden corner loss', () => {
    const model = layoutModelOf(smallStation);
    const field = { widthPx: 1280, heightPx: 1024, pixelPitchUm: 4.8 };
    const at = illuminationOverField({ model, focalPowerDpt: 0, ...field, cornerLossRatio: 0.06 });
    const cornerPx = Math.hypot(1280, 1024) / 2;
    expect(at(0)).toBe(1);
    for (const share of [0.31, 0.62, 1]) {
      const imageHeightMm = (share * cornerPx * 4.8) / 1000;
      const { relativeIllumination } = fieldIllumination({ model, focalPowerDpt: 0, imageHeightMm });
      expect(at(share * cornerPx)).toBeCloseTo(relativeIllumination * (1 - 0.06 * share ** 2), 4);
    }
    expect(at(cornerPx)).toBeLessThan(0.95);
  });
});
