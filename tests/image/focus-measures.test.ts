import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { focusSums } from '../../src/image/focus-measures/focus-sums.js';
import { haarEnergies } from '../../src/image/focus-measures/wavelet-energy.js';
import {
  type FocusMeasure,
  focusMeasureNames,
  focusMeasureNoise,
  type GreyImage,
  measureFocus,
  measureFocusByAll,
  regionStatistics,
} from '../../src/image/index.js';

/** I[y][x] = (3x² + 5y + 7xy) mod 32. */
const checkImage: GreyImage = {
  widthPx: 8,
  heightPx: 8,
  bitDepth: 8,
  data: Uint8Array.from({ length: 64 }, (_, i) => {
    const [x, y] = [i % 8, Math.floor(i / 8)];
    return (3 * x * x + 5 * y + 7 * x * y) % 32;
  }),
};

function picture(value: (x: number, y: number) => number, size = 48, bitDepth = 12): GreyImage {
  const data = Uint16Array.from({ length: size * size }, (_, i) => Math.round(value(i % size, Math.floor(i / size))));
  return { widthPx: size, heightPx: size, bitDepth, data };
}

const scene = (x: number, y: number) =>
  1200 + 150 * Math.sin(x * 0.9 + 0.3 * y) + 120 * Math.cos(0.7 * y - 0.2 * x) + 90 * Math.sin(1.9 * x * 0.5 + y);

describe('measureFocus', () => {
  const computed: Record<FocusMeasure, number> = {
    'laplacian-energy': 72592 / 36,
    'dct-energy-ratio': 4652 / 134 ** 2,
    'wavelet-energy': 3340 / 64,
    tenengrad: 59392 / 36,
    'gradient-energy': 15520 / 49,
    brenner: 5600 / 48 + 7584 / 48,
    'laplacian-variance': 2012.444444,
    'modified-laplacian': 1308 / 36,
    'normalised-variance': 0.259078,
    'vollath-f4': 1384 / 64,
  };
  it.each(focusMeasureNames)('reference: %s of the 8 × 8 check image (sums computed with numpy)', (measure) => {
    expect(measureFocus({ image: checkImage, measure })).toBeCloseTo(computed[measure], 5);
  });

  it('reference: mean 16.75 and variance 72.6875 of the check image', () => {
    const { meanDn, stdDn } = regionStatistics({ image: checkImage });
    expect(meanDn).toBe(16.75);
    expect(stdDn ** 2).toBeCloseTo(72.6875, 10);
  });

  it.each(focusMeasureNames.filter((m) => m !== 'vollath-f4'))(
    'property: %s sees structure along x and along y alike',
    (measure) => {
      const upright = picture((x) => 500 + 200 * Math.sin(x));
      const lying = picture((_, y) => 500 + 200 * Math.sin(y));
      expect(measureFocus({ image: lying, measure })).toBeCloseTo(measureFocus({ image: upright, measure }), 8);
    },
  );

  it.each(focusMeasureNames)('property: %s of a region equals that of the cropped picture', (measure) => {
    const image = picture(scene);
    const region = { xPx: 7, yPx: 11, widthPx: 23, heightPx: 17 };
    const cut = picture((x, y) => image.data[(y + 11) * 48 + x + 7]!, 17);
    expect(measureFocus({ image, region: { ...region, widthPx: 17 }, measure })).toBeCloseTo(
      measureFocus({ image: cut, measure }),
      8,
    );
  });

  it.each([
    'tenengrad',
    'gradient-energy',
    'brenner',
    'laplacian-variance',
    'laplacian-energy',
    'modified-laplacian',
    'wavelet-energy',
  ] as const)(
    'property: a shift of grey level leaves %s, a gain of 2 multiplies it by 4 (absolute measure: 2)',
    (measure) => {
      const value = measureFocus({ image: picture(scene), measure });
      expect(measureFocus({ image: picture((x, y) => Math.round(scene(x, y)) + 300), measure })).toBeCloseTo(value, 8);
      const doubled = measureFocus({ image: picture((x, y) => 2 * Math.round(scene(x, y))), measure });
      expect(doubled / value).toBeCloseTo(measure === 'modified-laplacian' ? 2 : 4, 10);
    },
  );

  it.each(['normalised-variance', 'dct-energy-ratio'] as const)('property: a gain leaves %s', (measure) => {
    const value = measureFocus({ image: picture(scene), measure });
    const doubled = picture((x, y) => 2 * Math.round(scene(x, y)));
    expect(measureFocus({ image: doubled, measure })).toBeCloseTo(value, 12);
  });

  it('reference: Haar details of the check image are 0.173344 of the approximation (numpy)', () => {
    const { detail, approximation } = haarEnergies(checkImage, { xPx: 0, yPx: 0, widthPx: 8, heightPx: 8 });
    expect(detail).toBe(3340);
    expect(detail / approximation).toBeCloseTo(0.173344, 6);
  });

  it('property: all measures in one pass equal each by itself, by the kernels and by the readable sums', () => {
    const image = picture(scene);
    const region = { xPx: 3, yPx: 5, widthPx: 40, heightPx: 37 };
    const single = focusMeasureNames.map((measure) => measureFocus({ image, region, measure }));
    expect(measureFocusByAll({ image, region })).toEqual(single);
    expect(measureFocusByAll({ image, region, sumsOf: focusSums })).toEqual(single);
  });

  it('degenerate: a flat frame measures zero', () => {
    const flat = picture(() => 77);
    for (const measure of focusMeasureNames.filter((m) => m !== 'vollath-f4')) {
      expect(measureFocus({ image: flat, measure })).toBe(0);
    }
    expect(measureFocus({ image: picture(() => 0), measure: 'normalised-variance' })).toBe(0);
  });

  it('refuses unknown measures and regions that are too small or outside', () => {
    expect(() => measureFocus({ image: checkImage, measure: 'sharpness' as FocusMeasure })).toThrow(
      /allowed: laplacian/,
    );
    const region = { xPx: 0, yPx: 0, widthPx: 2, heightPx: 8 };
    expect(() => measureFocus({ image: checkImage, measure: 'brenner', region })).toThrow(/at least 3 × 3 px/);
    const outside = { xPx: 4, yPx: 0, widthPx: 5, heightPx: 8 };
    expect(() => measureFocus({ image: checkImage, measure: 'brenner', region: outside })).toThrow(/frame of 8 × 8 px/);
  });
});

describe('focusMeasureNoise', () => {
  const frames = 400;
  const noiseStdDn = 12;
  function monteCarlo(base: (x: number, y: number) => number, measure: FocusMeasure) {
    const random = seededRandom(11);
    const values = Array.from({ length: frames }, () =>
      measureFocus({ image: picture((x, y) => base(x, y) + noiseStdDn * random.normal(), 32), measure }),
    );
    const mean = values.reduce((a, b) => a + b, 0) / frames;
    const std = Math.sqrt(values.reduce((a, b) => a + (b - mean) ** 2, 0) / (frames - 1));
    const image = picture((x, y) => base(x, y) + noiseStdDn * random.normal(), 32);
    return { mean, std, clean: measureFocus({ image: picture(base, 32), measure }), image };
  }

  it.each(focusMeasureNames)(
    'property: %s has the stated floor on a flat field (Monte Carlo, 400 frames)',
    (measure) => {
      const { mean, std, image, clean } = monteCarlo(() => 1000, measure);
      const predicted = focusMeasureNoise({ image, measure, noiseStdDn });
      const ofMean = (4 * std) / Math.sqrt(frames);
      // 1 %: rounding to whole DN adds 1/12 DN²; the variance lacks one degree of freedom.
      expect(Math.abs(mean - clean - predicted.noiseFloor)).toBeLessThan(ofMean + 0.01 * predicted.noiseFloor);
    },
  );

  it.each(focusMeasureNames)('property: %s scatters as stated on a scene (Monte Carlo, 400 frames)', (measure) => {
    const { std, image } = monteCarlo(scene, measure);
    const predicted = focusMeasureNoise({ image, measure, noiseStdDn });
    expect(predicted.std / std).toBeGreaterThan(0.85);
    expect(predicted.std / std).toBeLessThan(measure === 'modified-laplacian' ? 1.35 : 1.17);
  });

  it.each(['tenengrad', 'brenner', 'laplacian-variance', 'gradient-energy', 'normalised-variance'] as const)(
    'property: %s scatters as stated on a flat field too',
    (measure) => {
      const { std, image } = monteCarlo(() => 1000, measure);
      const predicted = focusMeasureNoise({ image, measure, noiseStdDn });
      expect(predicted.std / std).toBeGreaterThan(0.8);
      expect(predicted.std / std).toBeLessThan(1.25);
    },
  );

  it('property: white noise of variance v adds 24 v to Tenengrad, 20 v to the Laplacian energy', () => {
    const image = picture(scene);
    expect(focusMeasureNoise({ image, measure: 'tenengrad', noiseStdDn: 3 }).noiseFloor).toBe(24 * 9);
    expect(focusMeasureNoise({ image, measure: 'laplacian-variance', noiseStdDn: 3 }).noiseFloor).toBe(20 * 9);
  });

  it('refuses negative noise and regions below 9 × 9 px', () => {
    expect(() => focusMeasureNoise({ image: checkImage, measure: 'brenner', noiseStdDn: 1 })).toThrow(/9 × 9/);
    expect(() => focusMeasureNoise({ image: picture(scene), measure: 'brenner', noiseStdDn: -1 })).toThrow(
      /noiseStdDn/,
    );
  });
});
