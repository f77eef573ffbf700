import { describe, expect, it } from 'vitest';
import { wirePixels } from '../../src/app/twin-on-wire/wire-pixels.js';
import type { GreyImage } from '../../src/image/index.js';

const eight: GreyImage = {
  widthPx: 4,
  heightPx: 2,
  bitDepth: 8,
  data: Uint8Array.of(0, 2, 10, 100, 150, 200, 254, 255),
};
const twelve: GreyImage = { ...eight, bitDepth: 12, data: Uint16Array.of(0, 15, 16, 255, 256, 4000, 4094, 4095) };
const whole = { gainDb: 0, pixelFormat: 'Mono8', xPx: 0, yPx: 0, widthPx: 4, heightPx: 2 } as const;
const black = { blackLevelDn: 2 };

describe('wire pixels', () => {
  it('closed form: the whole 8-bit frame goes as it is, without a copy', () => {
    expect(wirePixels(eight, whole, black)).toBe(eight.data);
  });

  it('closed form: 12 bit go as words with the low byte first, or lose their four low bits', () => {
    expect([...wirePixels(twelve, { ...whole, pixelFormat: 'Mono12' }, black)]).toEqual([
      0, 0, 15, 0, 16, 0, 255, 0, 0, 1, 0xa0, 0x0f, 0xfe, 0x0f, 0xff, 0x0f,
    ]);
    expect([...wirePixels(twelve, whole, black)]).toEqual([0, 0, 1, 15, 16, 250, 255, 255]);
  });

  it('closed form: gain leaves the black level, multiplies the rest and ends at white', () => {
    expect([...wirePixels(eight, { ...whole, gainDb: 20 * Math.log10(2) }, black)]).toEqual([
      0, 2, 18, 198, 255, 255, 255, 255,
    ]);
  });

  it('closed form: a region is cut row by row', () => {
    const region = { ...whole, xPx: 1, yPx: 1, widthPx: 2, heightPx: 1 };
    expect([...wirePixels(eight, region, black)]).toEqual([200, 254]);
  });
});
