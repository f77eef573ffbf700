import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  bayerColours,
  bayerPatterns,
  bayerPlane,
  type GreyImage,
  pixelFormat,
  unpackPixels,
} from '../../src/image/index.js';

/** Packs one bit after the other, as text: slow, and made another way than the code that is tested. */
function packed(values: readonly number[], bitDepth: number): Uint8Array {
  const bits = values.map((value) => [...value.toString(2).padStart(bitDepth, '0')].reverse().join('')).join('');
  const whole = bits.padEnd(8 * Math.ceil(bits.length / 8), '0');
  return Uint8Array.from({ length: whole.length / 8 }, (_, i) =>
    Number.parseInt([...whole.slice(8 * i, 8 * i + 8)].reverse().join(''), 2),
  );
}

const two = (format: string, ...bytes: number[]) => [
  ...unpackPixels({ bytes: Uint8Array.from(bytes), format, widthPx: 2, heightPx: 1 }).data,
];

describe('unpackPixels', () => {
  it('closed form: two pixels 0xABC and 0x123 of 12 bit in each layout', () => {
    expect(two('Mono12p', 0xbc, 0x3a, 0x12)).toEqual([0xabc, 0x123]);
    expect(two('Mono12Packed', 0xab, 0x3c, 0x12)).toEqual([0xabc, 0x123]);
    expect(two('Mono12', 0xbc, 0x0a, 0x23, 0x01)).toEqual([0xabc, 0x123]);
    expect(two('BayerGB12', 0xbc, 0xfa, 0x23, 0x01)).toEqual([0xabc, 0x123]); // unused bits set
  });

  it('closed form: pixels 0x2AB and 0x155 of 10 bit in each layout', () => {
    // 0x2AB = 10 1010 1011, 0x155 = 01 0101 0101
    expect(two('Mono10Packed', 0b10101010, 0b00010011, 0b01010101)).toEqual([0x2ab, 0x155]);
    expect(two('BayerRG10p', 0b10101011, 0b01010110, 0b00000101)).toEqual([0x2ab, 0x155]);
    expect(two('Mono10', 0xab, 0x02, 0x55, 0x01)).toEqual([0x2ab, 0x155]);
  });

  it('closed form: 8 and 16 bit as they are', () => {
    expect(two('Mono8', 7, 255)).toEqual([7, 255]);
    expect(two('BayerBG16', 0xcd, 0xab, 0xff, 0xff)).toEqual([0xabcd, 0xffff]);
  });

  it('property: the bit-packed formats give back what was packed, with and without padded rows', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(10, 12, 14),
        fc.integer({ min: 1, max: 9 }),
        fc.integer({ min: 1, max: 4 }),
        fc.integer({ min: 0, max: 3 }),
        fc.array(fc.nat(16383), { minLength: 36, maxLength: 36 }),
        (bitDepth, widthPx, heightPx, padding, seeds) => {
          const values = seeds.slice(0, widthPx * heightPx).map((seed) => seed % 2 ** bitDepth);
          const size = { format: `Mono${bitDepth}p`, widthPx, heightPx };
          expect([...unpackPixels({ bytes: packed(values, bitDepth), ...size }).data]).toEqual(values);
          const rows = Array.from({ length: heightPx }, (_, y) =>
            packed(values.slice(y * widthPx, (y + 1) * widthPx), bitDepth),
          );
          const lineBytes = rows[0]!.length + padding;
          const bytes = new Uint8Array(lineBytes * heightPx).fill(0xee);
          for (const [y, row] of rows.entries()) bytes.set(row, y * lineBytes);
          expect([...unpackPixels({ bytes, ...size, lineBytes }).data]).toEqual(values);
        },
      ),
    );
  });

  it('refuses unknown formats and too few bytes, saying what is needed', () => {
    const bytes = new Uint8Array(5);
    for (const format of ['RGB8', 'Mono9', 'Mono8p', 'Mono16p', 'Mono14Packed', 'BayerXX8', 'mono8']) {
      expect(pixelFormat(format)).toBeNull();
      expect(() => unpackPixels({ bytes, format, widthPx: 2, heightPx: 1 })).toThrow(/allowed: Mono or Bayer/);
    }
    expect(() => unpackPixels({ bytes, format: 'Mono12p', widthPx: 4, heightPx: 1 })).toThrow(/at least 6/);
    expect(() => unpackPixels({ bytes, format: 'Mono8', widthPx: 2, heightPx: 1, lineBytes: 1 })).toThrow(/lineBytes/);
  });
});

describe('bayerPlane', () => {
  const cell: Record<string, string[]> = {
    RG: ['red', 'green-red', 'green-blue', 'blue'],
    GR: ['green-red', 'red', 'blue', 'green-blue'],
    GB: ['green-blue', 'blue', 'red', 'green-red'],
    BG: ['blue', 'green-blue', 'green-red', 'red'],
  };
  const mosaic: GreyImage = {
    widthPx: 5,
    heightPx: 4,
    bitDepth: 12,
    data: Uint16Array.from({ length: 20 }, (_, i) => i * 100),
  };

  it.each(bayerPatterns)('closed form: every colour of Bayer%s, an odd column included', (pattern) => {
    for (const colour of bayerColours) {
      const at = cell[pattern]!.indexOf(colour);
      const plane = bayerPlane({ image: mosaic, pattern, colour });
      const [column, row] = [at % 2, at >> 1];
      expect([plane.widthPx, plane.heightPx, plane.bitDepth]).toEqual([column === 0 ? 3 : 2, 2, 12]);
      for (let y = 0; y < plane.heightPx; y++) {
        for (let x = 0; x < plane.widthPx; x++) {
          expect(plane.data[y * plane.widthPx + x]).toBe(((2 * y + row) * 5 + 2 * x + column) * 100);
        }
      }
    }
  });

  it('property: the four planes hold every pixel once', () => {
    const values = bayerColours.flatMap((colour) => [...bayerPlane({ image: mosaic, pattern: 'GB', colour }).data]);
    expect(values.sort((a, b) => a - b)).toEqual([...mosaic.data]);
  });

  it('refuses unknown patterns and colours, and a single row', () => {
    expect(() => bayerPlane({ image: mosaic, pattern: 'RB' as 'RG', colour: 'red' })).toThrow(/RG, GR, GB, BG/);
    expect(() => bayerPlane({ image: mosaic, pattern: 'RG', colour: 'green' as 'red' })).toThrow(/green-red/);
    const row = { widthPx: 20, heightPx: 1, bitDepth: 12, data: mosaic.data };
    expect(() => bayerPlane({ image: row, pattern: 'RG', colour: 'red' })).toThrow(/2 × 2/);
  });
});
