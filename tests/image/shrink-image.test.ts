import { describe, expect, it } from 'vitest';
import { shrinkImage } from '../../src/image/index.js';

describe('shrinkImage', () => {
  it('closed form: means of blocks; the incomplete border is left out', () => {
    const image = { widthPx: 5, heightPx: 3, bitDepth: 8, data: Uint8Array.from({ length: 15 }, (_, i) => 10 * i) };
    // Blocks (0, 10, 50, 60) and (20, 30, 70, 80).
    expect(shrinkImage({ image, factor: 2 })).toEqual({
      widthPx: 2,
      heightPx: 1,
      bitDepth: 8,
      data: Uint8Array.of(30, 50),
    });
  });

  it('closed form: 12 bit white becomes 8 bit white; factor 1 keeps 8 bit as it is', () => {
    const white = { widthPx: 2, heightPx: 2, bitDepth: 12, data: new Uint16Array(4).fill(4095) };
    expect(shrinkImage({ image: white, factor: 2 }).data).toEqual(Uint8Array.of(255));
    const image = { widthPx: 2, heightPx: 1, bitDepth: 8, data: Uint8Array.of(3, 200) };
    expect(shrinkImage({ image, factor: 1 })).toEqual(image);
  });

  it('refuses factors that are not whole or leave nothing', () => {
    const image = { widthPx: 2, heightPx: 2, bitDepth: 8, data: new Uint8Array(4) };
    for (const factor of [0, 1.5, 3, Number.NaN]) expect(() => shrinkImage({ image, factor })).toThrow(/factor is/);
  });
});
