import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { fieldIllumination } from '../../../src/optics/index.js';
import { layoutModelOf } from '../../../src/station/index.js';
import { illuminationOverField } from '../../../src/twin/illumination.js';
import { frameKernel } from '../../../src/twin/render/frame-kernel.js';
import { fixedPattern } from '../../../src/twin/sensor/fixed-pattern.js';
import { simulatedSensor } from '../../../src/twin/sensor/simulated-sensor.js';
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

  it('closed form: a pixel of the sensor responds with the light at its distance from the middle', () => {
    const { widthPx, heightPx, strideCount, fullWellE } = plain;
    const at = simulatedSensor({
      kernel: frameKernel(),
      widthPx,
      heightPx,
      strideCount,
      sensor: { gainDnPerE: 1, readNoiseE: 0, blackLevelDn: 0, fullWellE: 1e6, bitDepth: 12 },
      pattern: fixedPattern({ ...plain, fullWellE }),
      fieldLight: (focalPowerDpt) => ({
        cornerRatio: focalPowerDpt,
        at: (radiusPx) => 1 - (focalPowerDpt * radiusPx) / 100,
      }),
      random: seededRandom(1),
      seed: 1,
    });
    const image = new Float32Array(strideCount * heightPx).fill(1);
    const greyAt = (focalPowerDpt: number, x: number, y: number) => {
      at.illuminate(focalPowerDpt);
      const sums = [1, 2, 3, 4].map((frameId) => at.read({ image, electronsAtWhiteE: 3000, frameId }).data);
      return sums.reduce((sum, data) => sum + data[y * widthPx + x]!, 0) / sums.length;
    };
    // Photon noise of 3000 electrons, mean of four frames: 27; five of them.
    for (const power of [0.5, 0.1]) {
      expect(Math.abs(greyAt(power, 50, 40) - 3000)).toBeLessThan(140);
      expect(Math.abs(greyAt(power, 0, 0) - 3000 * (1 - (power * Math.hypot(50, 40)) / 100))).toBeLessThan(140);
    }
  });

  it('reference: the fall-off is fieldIllumination of src/optics times the hidden corner loss', () => {
    const model = layoutModelOf(smallStation);
    const field = { widthPx: 1280, heightPx: 1024, pixelPitchUm: 4.8 };
    const { at, cornerRatio } = illuminationOverField({ model, ...field, cornerLossRatio: 0.06 })(0);
    const cornerPx = Math.hypot(1280, 1024) / 2;
    expect(at(0)).toBe(1);
    for (const share of [0.31, 0.62, 1]) {
      const imageHeightMm = (share * cornerPx * 4.8) / 1000;
      const { relativeIllumination } = fieldIllumination({ model, focalPowerDpt: 0, imageHeightMm });
      expect(at(share * cornerPx)).toBeCloseTo(relativeIllumination * (1 - 0.06 * share ** 2), 4);
    }
    expect(at(cornerPx)).toBeLessThan(0.95);
    expect(cornerRatio).toBe(at(cornerPx));
  });
});
