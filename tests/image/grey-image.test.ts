import { describe, expect, it } from 'vitest';
import {
  cropImage,
  type GreyImage,
  regionStatistics,
  requireGreyImage,
  requireRegion,
  wholeFrame,
} from '../../src/image/index.js';

const image: GreyImage = {
  widthPx: 6,
  heightPx: 4,
  bitDepth: 10,
  data: Uint16Array.from({ length: 24 }, (_, i) => (i === 7 ? 1023 : i)),
};

describe('grey images and regions', () => {
  it('property: a cropped pixel is the pixel at that place', () => {
    const region = { xPx: 1, yPx: 1, widthPx: 3, heightPx: 2 };
    const cut = cropImage({ image, region });
    expect(cut).toEqual({ widthPx: 3, heightPx: 2, bitDepth: 10, data: Uint16Array.of(1023, 8, 9, 13, 14, 15) });
    cut.data[0] = 0;
    expect(image.data[7]).toBe(1023);
  });

  it('closed form: clipped shares count the largest value of the bit depth and zero', () => {
    const all = regionStatistics({ image });
    expect(all).toMatchObject({ count: 24, minDn: 0, maxDn: 1023, saturatedFraction: 1 / 24, blackFraction: 1 / 24 });
    const last = regionStatistics({ image, region: { xPx: 0, yPx: 3, widthPx: 6, heightPx: 1 } });
    expect(last).toMatchObject({ meanDn: 20.5, saturatedFraction: 0, blackFraction: 0 });
    expect(last.stdDn ** 2).toBeCloseTo(35 / 12, 12);
  });

  it('degenerate: one pixel', () => {
    expect(regionStatistics({ image, region: { xPx: 5, yPx: 3, widthPx: 1, heightPx: 1 } })).toMatchObject({
      meanDn: 23,
      stdDn: 0,
    });
  });

  it('refuses regions that leave the frame, are empty or broken, naming frame and field', () => {
    const bad = (change: object) => () => requireRegion('region', { ...wholeFrame(image), ...change }, image);
    expect(bad({ xPx: 1 })).toThrow('region is 6 × 4 px at (1, 0); allowed: inside the frame of 6 × 4 px');
    expect(bad({ heightPx: 5 })).toThrow(RangeError);
    expect(bad({ widthPx: 0 })).toThrow(/region.widthPx is 0 px/);
    expect(bad({ xPx: -1 })).toThrow(/region.xPx/);
    expect(bad({ yPx: 0.5 })).toThrow(/whole number/);
    expect(bad({ xPx: Number.NaN })).toThrow(/NaN/);
  });

  it('refuses images that contradict themselves', () => {
    expect(() => requireGreyImage('image', { ...image, widthPx: 5 })).toThrow(/holds 24 values; allowed: 5 × 4 = 20/);
    expect(() => requireGreyImage('image', { ...image, bitDepth: 7 })).toThrow(/bitDepth/);
    expect(() => requireGreyImage('image', { ...image, data: new Uint8Array(24) })).toThrow(/Uint16Array/);
    expect(() => requireGreyImage('image', { ...image, data: [1] as never })).toThrow(TypeError);
  });
});
