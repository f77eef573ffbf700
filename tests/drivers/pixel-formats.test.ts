import { describe, expect, it } from 'vitest';
import { loadNativeLibraries, nativeDeclarer } from '../../src/drivers/aravis/index.js';
import { greyImageOf, pixelFormats } from '../../src/drivers/genicam/pixel-formats.js';

const codeOf = (name: string) => [...pixelFormats].find(([, format]) => format.name === name)![0];
const image = (name: string, bytes: number[], widthPx: number, heightPx = 1) =>
  greyImageOf({ bytes: Uint8Array.from(bytes), formatCode: codeOf(name), widthPx, heightPx, camera: 'test' });

describe('pixel formats', () => {
  it.each([
    ['Mono8', [1, 255], [1, 255], 8],
    ['Mono10', [0xff, 0x03, 0x01, 0x00], [1023, 1], 10],
    ['Mono12', [0xbc, 0x0a, 0xff, 0x0f], [0xabc, 0xfff], 12],
    ['Mono16', [0x34, 0x12, 0xff, 0xff], [0x1234, 0xffff], 16],
    // Two values in three bytes: high bits of the first, low bits of both (the first in the lower half), high bits of the second.
    ['Mono12Packed', [0xab, 0x5c, 0x12], [0xabc, 0x125], 12],
    ['Mono10Packed', [0xff, 0x13, 0x00], [1023, 1], 10],
    // Bits in a row, lowest first.
    ['Mono12p', [0xbc, 0x5a, 0x12], [0xabc, 0x125], 12],
    ['Mono10p', [0xff, 0x07, 0x00, 0x00, 0x40], [1023, 1, 0, 256], 10],
  ])('closed form: %s', (name, bytes, grey, bitDepth) => {
    const got = image(name, bytes, grey.length);
    expect([...got.data]).toEqual(grey);
    expect(got.bitDepth).toBe(bitDepth);
  });

  it('closed form: of a colour mosaic the green values stay, and their neighbours’ mean stands for the others', () => {
    const rg = image('BayerRG8', [200, 10, 200, 20, 90, 30, 90, 40, 200, 50, 200, 60], 4, 3);
    // Green where row + column is odd.
    expect([...rg.data]).toEqual(Array.from({ length: 12 }, (_, i) => expected(i)));
    function expected(i: number): number {
      const source = [200, 10, 200, 20, 90, 30, 90, 40, 200, 50, 200, 60];
      const [x, y] = [i % 4, Math.floor(i / 4)];
      if ((x + y) % 2 === 1) return source[i]!;
      const near = [
        [x - 1, y],
        [x + 1, y],
        [x, y - 1],
        [x, y + 1],
      ].filter(([nx, ny]) => nx! >= 0 && nx! < 4 && ny! >= 0 && ny! < 3);
      return Math.round(near.reduce((sum, [nx, ny]) => sum + source[ny! * 4 + nx!]!, 0) / near.length);
    }
  });

  it('refuses a format of several values a pixel, and a frame of too few bytes', () => {
    const rgb8 = 0x02180014;
    expect(() =>
      greyImageOf({ bytes: new Uint8Array(3), formatCode: rgb8, widthPx: 1, heightPx: 1, camera: 'test' }),
    ).toThrow(/0x02180014/);
    expect(() => image('Mono16', [1, 2, 3], 2)).toThrow(/frame/i);
  });

  it('reference: the codes that Aravis knows mean there what they mean here', async () => {
    const declare = nativeDeclarer(await loadNativeLibraries());
    const caps = declare<[number], string | null>('arv_pixel_format_to_gst_caps_string', 'str', ['uint32']);
    const mosaic = { GR: 'grbg', RG: 'rggb', GB: 'gbrg', BG: 'bggr' } as const;
    let known = 0;
    for (const [code, { name }] of pixelFormats) {
      const said = caps(code);
      if (said === null) continue;
      known++;
      const order = /^Bayer(..)/.exec(name)?.[1] as keyof typeof mosaic | undefined;
      if (order) expect(said, name).toContain(`bayer, format=(string)${mosaic[order]}`);
      else expect(said, name).toMatch(name === 'Mono8' ? /GRAY8/ : /GRAY16/);
    }
    expect(known).toBeGreaterThanOrEqual(8);
  });
});
