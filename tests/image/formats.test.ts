import { deflateSync, inflateSync } from 'node:zlib';
import fc from 'fast-check';
import { decode, encode } from 'fast-png';
import { describe, expect, it } from 'vitest';
import { FocuswrightError } from '../../src/base/index.js';
import { joinBytes, pngChunk, pngSignature } from '../../src/image/formats/png-chunks.js';
import { unfilterPng } from '../../src/image/formats/unfilter-png.js';
import {
  decodeImage,
  decodeImagePages,
  encodePng,
  encodeTiff,
  type GreyImage,
  imageDescription,
} from '../../src/image/index.js';

const arbitraryImage = fc
  .record({
    widthPx: fc.integer({ min: 1, max: 17 }),
    heightPx: fc.integer({ min: 1, max: 13 }),
    bitDepth: fc.integer({ min: 8, max: 16 }),
    seed: fc.integer({ min: 0, max: 1 << 30 }),
  })
  .map(({ widthPx, heightPx, bitDepth, seed }): GreyImage => {
    const values = Array.from({ length: widthPx * heightPx }, (_, i) => {
      const mixed = Math.imul(seed + i * 7919, 2654435761) >>> 0;
      return mixed % 2 ** bitDepth;
    });
    return { widthPx, heightPx, bitDepth, data: bitDepth === 8 ? Uint8Array.from(values) : Uint16Array.from(values) };
  });

const sample: GreyImage = {
  widthPx: 9,
  heightPx: 7,
  bitDepth: 12,
  data: Uint16Array.from({ length: 63 }, (_, i) => (i * 197) % 4096),
};

function codeOf(work: () => unknown): string | null {
  try {
    work();
    return null;
  } catch (error) {
    expect(error).toBeInstanceOf(FocuswrightError);
    expect((error as FocuswrightError).details.file).toBe('f');
    return (error as FocuswrightError).code;
  }
}

describe('round trips', () => {
  it('property: PNG gives back image and bit depth, 8 … 16 bit', () => {
    fc.assert(
      fc.property(arbitraryImage, (image) => {
        expect(decodeImage(encodePng(image))).toEqual(image);
      }),
    );
  });

  it('property: PNG written with another compressor, and read with another, gives the same', () => {
    fc.assert(
      fc.property(arbitraryImage, (image) => {
        const bytes = encodePng(image, { deflate: (lines) => deflateSync(lines, { level: 1 }) });
        expect(decodeImage(bytes)).toEqual(image);
        const inflate = (packed: Uint8Array, maxOutputLength: number) => inflateSync(packed, { maxOutputLength });
        expect(decodeImage(bytes, 'f', { inflate })).toEqual(image);
      }),
    );
  });

  it('reference: every filter of a line, 1 to 4 channels, 8 and 16 bit, as fast-png reads them', () => {
    const [widthPx, heightPx] = [7, 25];
    for (const [colourType, channels] of [
      [0, 1],
      [2, 3],
      [4, 2],
      [6, 4],
    ] as const) {
      for (const bitDepth of [8, 16] as const) {
        const lineBytes = 1 + (widthPx * channels * bitDepth) / 8;
        const lines = Uint8Array.from({ length: lineBytes * heightPx }, (_, i) =>
          i % lineBytes === 0 ? (i / lineBytes) % 5 : Math.imul(i + 11, 2654435761) >>> 24,
        );
        const header = Uint8Array.of(0, 0, 0, widthPx, 0, 0, 0, heightPx, bitDepth, colourType, 0, 0, 0);
        const chunks = [
          pngChunk('IHDR', header),
          pngChunk('IDAT', deflateSync(lines)),
          pngChunk('IEND', new Uint8Array()),
        ];
        const wanted = decode(joinBytes([pngSignature, ...chunks])).data;
        const found = unfilterPng({ file: 'f', lines, widthPx, heightPx, channels, bitDepth });
        expect([...found]).toEqual([...wanted]);
      }
    }
  });

  it('property: TIFF gives back every page and its bit depth, 8 … 16 bit', () => {
    fc.assert(
      fc.property(fc.array(arbitraryImage, { minLength: 1, maxLength: 4 }), (images) => {
        const bytes = encodeTiff(images);
        expect(decodeImagePages(bytes)).toEqual(images);
        expect(decodeImage(bytes)).toEqual(images[0]);
      }),
    );
  });

  it('property: a view into a larger buffer is read at its own place', () => {
    for (const bytes of [encodePng(sample), encodeTiff(sample)]) {
      const larger = new Uint8Array(bytes.length + 20);
      larger.set(bytes, 13);
      expect(decodeImage(larger.subarray(13, 13 + bytes.length))).toEqual(sample);
    }
  });

  it('property: the description survives, in any script', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme', maxLength: 60 }), (text) => {
        fc.pre(!/\0|\p{Surrogate}/u.test(text));
        expect(imageDescription(encodeTiff(sample, { description: text }))).toBe(text === '' ? null : text);
      }),
    );
    expect(imageDescription(encodePng(sample))).toBeNull();
  });

  it('degenerate: one pixel', () => {
    const image: GreyImage = { widthPx: 1, heightPx: 1, bitDepth: 8, data: Uint8Array.of(7) };
    expect(decodeImage(encodePng(image))).toEqual(image);
    expect(decodeImage(encodeTiff(image))).toEqual(image);
  });
});

describe('colour', () => {
  const png = (channels: number, data: number[]) =>
    encode({ width: 2, height: 1, depth: 8, channels, data: Uint8Array.from(data) });
  it('closed form: R = G = B becomes grey, opaque alpha is dropped', () => {
    expect(decodeImage(png(3, [5, 5, 5, 200, 200, 200])).data).toEqual(Uint8Array.of(5, 200));
    expect(decodeImage(png(4, [5, 5, 5, 255, 9, 9, 9, 255])).data).toEqual(Uint8Array.of(5, 9));
    expect(decodeImage(png(2, [5, 255, 9, 255])).data).toEqual(Uint8Array.of(5, 9));
  });

  it('refuses colour, transparency and palettes, saying what was met', () => {
    expect(() => decodeImage(png(3, [5, 6, 5, 1, 1, 1]), 'f')).toThrow(/R, G, B = 5, 6, 5 at pixel 0, 0/);
    expect(() => decodeImage(png(2, [5, 255, 9, 254]), 'f')).toThrow(/transparency/);
  });
});

describe('files that are refused', () => {
  it('refuses empty, short and foreign files', () => {
    for (const bytes of [[], [0x89], [0x49, 0x49, 42], [1, 2, 3, 4, 5, 6, 7, 8, 9]]) {
      expect(codeOf(() => decodeImage(Uint8Array.from(bytes), 'f'))).toBe('image-unreadable');
    }
  });

  it('refuses declared sizes beyond the limit before decoding, and of zero', () => {
    const png = encodePng(sample);
    new DataView(png.buffer, png.byteOffset).setUint32(16, 60_000);
    new DataView(png.buffer, png.byteOffset).setUint32(20, 60_000);
    expect(codeOf(() => decodeImage(png, 'f'))).toBe('image-too-large');
    new DataView(png.buffer, png.byteOffset).setUint32(16, 0);
    expect(codeOf(() => decodeImage(png, 'f'))).toBe('image-unreadable');
    for (const [size, code] of [
      [60_000, 'image-too-large'],
      [0, 'image-unreadable'],
    ] as const) {
      const tiff = encodeTiff(sample);
      setTag(tiff, 256, size);
      setTag(tiff, 257, size);
      expect(codeOf(() => decodeImage(tiff, 'f'))).toBe(code);
    }
  });

  it('refuses compressed data that inflate beyond the declared size', () => {
    // 4000 × 4000 zeros, declared as 9 × 7.
    const bomb = encode(
      { width: 4000, height: 4000, depth: 8, channels: 1, data: new Uint8Array(16e6) },
      { zlib: { level: 9 } },
    );
    const view = new DataView(bomb.buffer, bomb.byteOffset);
    view.setUint32(16, 9);
    view.setUint32(20, 7);
    expect(codeOf(() => decodeImage(bomb, 'f'))).toBe('image-unreadable');
    // With a CRC that fits, only the inflated length tells.
    const header = pngChunk('IHDR', bomb.subarray(16, 29));
    const whole = joinBytes([bomb.subarray(0, 8), header, bomb.subarray(33)]);
    expect(() => decodeImage(whole, 'f')).toThrow(/its size allows/);
    const inflate = (packed: Uint8Array, maxOutputLength: number) => inflateSync(packed, { maxOutputLength });
    expect(() => decodeImage(whole, 'f', { inflate })).toThrow(/its size allows/);
  });

  it('refuses a filter that does not exist, a chunk whose CRC is wrong, and unknown compression', () => {
    const png = (lines: number[], header: number[]) =>
      joinBytes([
        pngSignature,
        pngChunk('IHDR', Uint8Array.from(header)),
        pngChunk('IDAT', deflateSync(Uint8Array.from(lines))),
        pngChunk('IEND', new Uint8Array()),
      ]);
    const good = png([0, 5, 6], [0, 0, 0, 2, 0, 0, 0, 1, 8, 0, 0, 0, 0]);
    expect([...decodeImage(good, 'f').data]).toEqual([5, 6]);
    expect(() => decodeImage(png([5, 5, 6], [0, 0, 0, 2, 0, 0, 0, 1, 8, 0, 0, 0, 0]), 'f')).toThrow('filter 5');
    expect(() => decodeImage(png([0, 5, 6], [0, 0, 0, 2, 0, 0, 0, 1, 8, 0, 1, 0, 0]), 'f')).toThrow(
      'unknown compression',
    );
    const damaged = Uint8Array.from(good);
    damaged[good.length - 20] = damaged[good.length - 20]! ^ 1;
    expect(() => decodeImage(damaged, 'f')).toThrow('CRC of a chunk IDAT');
  });

  it('closed form: floating-point TIFF: 1 is full scale where nothing exceeds it, else grey values are rounded', () => {
    expect(decodeImage(floatTiff([0, 0.5, 1, 0.25]))).toEqual({
      widthPx: 2,
      heightPx: 2,
      bitDepth: 16,
      data: Uint16Array.of(0, 32768, 65535, 16384),
    });
    expect(decodeImage(floatTiff([0, 100.4, 65535, 2.5])).data).toEqual(Uint16Array.of(0, 100, 65535, 3));
  });

  it('refuses floating-point TIFF with NaN, infinite, negative and too large values, naming the pixel', () => {
    for (const value of [Number.NaN, Number.POSITIVE_INFINITY, -0.001, 65536]) {
      expect(() => decodeImage(floatTiff([0, 1, 1, value]), 'f')).toThrow(/at pixel 1, 1; readable: 0 … 1/);
    }
  });

  it('refuses half-precision, 32-bit and palette TIFF, and pages that form a circle', () => {
    for (const [tag, value] of [
      [339, 3],
      [258, 32],
      [258, 12],
      [262, 3],
      [259, 7],
      [277, 5],
    ] as const) {
      const tiff = encodeTiff(sample);
      setTag(tiff, tag, value);
      expect(codeOf(() => decodeImage(tiff, 'f'))).toBe('image-unreadable');
    }
    const circle = encodeTiff(sample);
    const view = new DataView(circle.buffer);
    const first = view.getUint32(4, true);
    view.setUint32(first + 2 + 12 * view.getUint16(first, true), first, true);
    expect(() => decodeImagePages(circle, 'f')).toThrow(/circle/);
  });

  it('refuses every truncation of a valid file', () => {
    for (const bytes of [encodePng(sample), encodeTiff([sample, sample])]) {
      for (let length = 0; length < bytes.length; length++) {
        expect(codeOf(() => decodeImagePages(bytes.subarray(0, length), 'f'))).toBe('image-unreadable');
      }
    }
  });

  it('property: random damage gives an image or one of the two errors, never anything else', () => {
    const valid = [encodePng(sample), encodeTiff([sample, sample], { description: 'glazed ware' })];
    fc.assert(
      fc.property(
        fc.constantFrom(...valid),
        fc.array(fc.tuple(fc.nat(400), fc.integer({ min: 0, max: 255 })), { minLength: 1, maxLength: 12 }),
        (bytes, damage) => {
          const broken = bytes.slice();
          for (const [at, value] of damage) broken[at % broken.length] = value;
          expect([null, 'image-unreadable', 'image-too-large']).toContain(codeOf(() => decodeImagePages(broken, 'f')));
        },
      ),
      { numRuns: 1500 },
    );
  });

  it('property: garbage behind a valid start gives an image or one of the two errors', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(
          [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a],
          [0x49, 0x49, 42, 0, 8, 0, 0, 0],
          [0x4d, 0x4d, 0, 42],
        ),
        fc.uint8Array({ maxLength: 200 }),
        (start, rest) => {
          expect([null, 'image-unreadable', 'image-too-large']).toContain(
            codeOf(() => decodeImagePages(Uint8Array.from([...start, ...rest]), 'f')),
          );
        },
      ),
      { numRuns: 500 },
    );
  });
});

/** 2 × 2 px of 32-bit floating point: a 16-bit file of twice the width with other tags. */
function floatTiff(values: number[]): Uint8Array {
  const data = new Uint16Array(Float32Array.from(values).buffer);
  const tiff = encodeTiff({ widthPx: 4, heightPx: 2, bitDepth: 16, data });
  setTag(tiff, 256, 2);
  setTag(tiff, 258, 32);
  setTag(tiff, 339, 3);
  return tiff;
}

function setTag(tiff: Uint8Array, tag: number, value: number): void {
  const view = new DataView(tiff.buffer);
  const at = view.getUint32(4, true);
  for (let i = 0; i < view.getUint16(at, true); i++) {
    const entry = at + 2 + 12 * i;
    if (view.getUint16(entry, true) === tag) view.setUint32(entry + 8, value, true);
  }
}
