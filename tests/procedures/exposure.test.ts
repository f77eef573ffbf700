import { describe, expect, it } from 'vitest';
import type { GreyImage } from '../../src/image/index.js';
import { nextExposureMs } from '../../src/procedures/commission/exposure.js';
import { brightLevelDn, greyHistogram, shareAtOrAbove } from '../../src/procedures/sweep/grey-histogram.js';
import { saturationLevelDn } from '../../src/station/index.js';
import { glazeStation } from './glaze-station.js';

const region = { xPx: 0, yPx: 0, widthPx: 20, heightPx: 20 };

/** 20 × 20 px: 90 % at one level, 10 % at another. */
function counts(mostDn: number, restDn = mostDn): Uint32Array {
  const data = Uint8Array.from({ length: 400 }, (_, i) => (i % 10 === 0 ? restDn : mostDn));
  const image: GreyImage = { widthPx: 20, heightPx: 20, bitDepth: 8, data };
  return greyHistogram(image, region);
}

const next = (brightDn: number, exposureMs = 1) =>
  nextExposureMs({
    brightDn,
    blackDn: 2,
    saturationDn: 240,
    exposureMs,
    limits: { exposureMinMs: 0.1, exposureMaxMs: 10 },
  });

describe('exposure', () => {
  it('closed form: bright level leaves one pixel in a hundred above, not ten', () => {
    expect(brightLevelDn(counts(50, 200), 0.01)).toBe(200);
    expect(brightLevelDn(counts(50, 200), 0.11)).toBe(50);
    expect(shareAtOrAbove(counts(50, 200), 200)).toBeCloseTo(0.1, 12);
  });

  it('closed form: saturation is where full well or full scale ends, whichever is lower', () => {
    const { sensor } = glazeStation().parts;
    // 2 + 0.02 · 12000 = 242 DN
    expect(saturationLevelDn({ sensor, bitDepth: 8 })).toBeCloseTo(0.98 * 242, 10);
    expect(saturationLevelDn({ sensor: { ...sensor, fullWellE: 20_000 }, bitDepth: 8 })).toBeCloseTo(0.98 * 255, 10);
  });

  it('closed form: 30 DN over a black level of 2 goes to 65 % of saturation: × (156 − 2)/28', () => {
    expect(next(30)).toBeCloseTo(154 / 28, 10);
  });

  it('closed form: a clipped frame gets a quarter, a black one eight times', () => {
    expect(next(240)).toBe(0.25);
    expect(next(2)).toBe(8);
  });

  it('degenerate: a good frame, and one at the limit of the exposure, are left alone', () => {
    expect(next(120)).toBeNull();
    expect(next(255, 0.1)).toBeNull();
    expect(next(3, 10)).toBeNull();
  });
});
