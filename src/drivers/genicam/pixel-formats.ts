import { FocuswrightError } from '../../base/index.js';
import type { GreyImage } from '../../image/index.js';

/** How grey values lie in memory: one byte, two bytes little end first, bits in a row, or two values in three bytes. */
type Packing = 'byte' | 'word' | 'bits' | 'three-bytes';

/** A format of one value a pixel. */
export interface PixelFormat {
  name: string;
  bitDepth: number;
  packing: Packing;
  /** Colour mosaic: whether pixels with an even sum of row and column are green; null: monochrome. */
  evenIsGreen: boolean | null;
}

const mono = (name: string, bitDepth: number, packing: Packing): PixelFormat => ({
  name,
  bitDepth,
  packing,
  evenIsGreen: null,
});
/** The four mosaics of a format, with their codes. */
const bayer = (
  suffix: string,
  bitDepth: number,
  packing: Packing,
  codes: Record<'GR' | 'RG' | 'GB' | 'BG', number>,
): [number, PixelFormat][] =>
  Object.entries(codes).map(([first, code]) => [
    code,
    { name: `Bayer${first}${suffix}`, bitDepth, packing, evenIsGreen: first.startsWith('G') },
  ]);

/** Codes of the pixel format naming convention (PFNC 2). From memory; those that Aravis knows are checked against it. */
export const pixelFormats: ReadonlyMap<number, PixelFormat> = new Map<number, PixelFormat>([
  [0x01080001, mono('Mono8', 8, 'byte')],
  [0x01100003, mono('Mono10', 10, 'word')],
  [0x010c0004, mono('Mono10Packed', 10, 'three-bytes')],
  [0x010a0046, mono('Mono10p', 10, 'bits')],
  [0x01100005, mono('Mono12', 12, 'word')],
  [0x010c0006, mono('Mono12Packed', 12, 'three-bytes')],
  [0x010c0047, mono('Mono12p', 12, 'bits')],
  [0x01100025, mono('Mono14', 14, 'word')],
  [0x01100007, mono('Mono16', 16, 'word')],
  ...bayer('8', 8, 'byte', { GR: 0x01080008, RG: 0x01080009, GB: 0x0108000a, BG: 0x0108000b }),
  ...bayer('10', 10, 'word', { GR: 0x0110000c, RG: 0x0110000d, GB: 0x0110000e, BG: 0x0110000f }),
  ...bayer('12', 12, 'word', { GR: 0x01100010, RG: 0x01100011, GB: 0x01100012, BG: 0x01100013 }),
  ...bayer('16', 16, 'word', { GR: 0x0110002e, RG: 0x0110002f, GB: 0x01100030, BG: 0x01100031 }),
  ...bayer('10p', 10, 'bits', { GR: 0x010a0056, RG: 0x010a0058, GB: 0x010a0054, BG: 0x010a0052 }),
  ...bayer('12p', 12, 'bits', { GR: 0x010c0057, RG: 0x010c0059, GB: 0x010c0055, BG: 0x010c0053 }),
  ...bayer('10Packed', 10, 'three-bytes', { GR: 0x010c0026, RG: 0x010c0027, GB: 0x010c0028, BG: 0x010c0029 }),
  ...bayer('12Packed', 12, 'three-bytes', { GR: 0x010c002a, RG: 0x010c002b, GB: 0x010c002c, BG: 0x010c002d }),
]);

/** Names of the formats that can be read, best for measuring first: the most bits that need no unpacking, mono before colour. */
export const readableFormats: readonly string[] = [...pixelFormats.values()].map(({ name }) => name);

/** Bytes of a whole frame. */
export function frameBytes({ bitDepth, packing }: PixelFormat, pixels: { count: number }): number {
  const bitsEach = { byte: 8, word: 16, bits: bitDepth, 'three-bytes': 12 }[packing];
  return Math.ceil((pixels.count * bitsEach) / 8);
}

/**
 * Grey values of a frame in a camera's format.
 *
 * Model    packed values are spread out; of a colour mosaic the green values are kept and stand, averaged over the four
 *          neighbours, for the pixels of other colours, so that the frame keeps its size.
 * Input    `bytes` of the frame, which are copied.
 * Throws   `setting-refused` for a format of several values a pixel, `frame-lost` where bytes are missing.
 * Trust    a green value at a pixel of another colour is interpolated: the finest detail there is halved.
 * Source   pixel format naming convention (PFNC 2), GigE Vision for the two-in-three-bytes formats
 * Checked  closed form: one value at a time, tests/drivers/pixel-formats.test.ts
 */
export function greyImageOf({
  bytes,
  formatCode,
  widthPx,
  heightPx,
  camera,
}: {
  bytes: Uint8Array;
  formatCode: number;
  widthPx: number;
  heightPx: number;
  camera: string;
}): GreyImage {
  const format = pixelFormats.get(formatCode);
  if (!format) {
    throw new FocuswrightError('setting-refused', {
      camera,
      setting: 'pixelFormat',
      wanted: `0x${formatCode.toString(16).padStart(8, '0')}`,
      allowed: readableFormats.join(', '),
    });
  }
  const count = widthPx * heightPx;
  const needed = frameBytes(format, { count });
  if (bytes.length < needed) {
    throw new FocuswrightError('frame-lost', { camera, bytes: bytes.length, needed });
  }
  const { bitDepth } = format;
  const data = format.packing === 'byte' ? bytes.slice(0, count) : wordsOf(bytes, format, count);
  const image = { widthPx, heightPx, bitDepth, data };
  return format.evenIsGreen === null ? image : greenOf(image, format.evenIsGreen);
}

/** As the words of the wire are. */
const isLittleEndian = new Uint8Array(Uint16Array.of(1).buffer)[0] === 1;

function wordsOf(bytes: Uint8Array, { packing, bitDepth }: PixelFormat, count: number): Uint16Array {
  if (packing === 'word' && isLittleEndian) return new Uint16Array(bytes.slice(0, 2 * count).buffer);
  const words = new Uint16Array(count);
  if (packing === 'word') {
    for (let i = 0; i < count; i++) words[i] = bytes[2 * i]! | (bytes[2 * i + 1]! << 8);
  } else if (packing === 'three-bytes') {
    const lowBits = bitDepth - 8;
    const mask = (1 << lowBits) - 1;
    for (let i = 0; i < count; i++) {
      const at = 3 * (i >> 1);
      const isSecond = (i & 1) === 1;
      const low = (bytes[at + 1]! >> (isSecond ? 4 : 0)) & mask;
      words[i] = (bytes[at + (isSecond ? 2 : 0)]! << lowBits) | low;
    }
  } else {
    const mask = (1 << bitDepth) - 1;
    for (let i = 0, bit = 0; i < count; i++, bit += bitDepth) {
      const at = bit >> 3;
      const three = bytes[at]! | ((bytes[at + 1] ?? 0) << 8) | ((bytes[at + 2] ?? 0) << 16);
      words[i] = (three >> (bit & 7)) & mask;
    }
  }
  return words;
}

function greenOf(image: GreyImage, evenIsGreen: boolean): GreyImage {
  const { widthPx, heightPx, data } = image;
  const green = data.slice();
  for (let y = 0; y < heightPx; y++) {
    for (let x = ((y & 1) === 0) === evenIsGreen ? 1 : 0; x < widthPx; x += 2) {
      const at = y * widthPx + x;
      let sum = 0;
      let neighbours = 0;
      const add = (inside: boolean, from: number) => {
        if (!inside) return;
        sum += data[from]!;
        neighbours++;
      };
      add(x > 0, at - 1);
      add(x < widthPx - 1, at + 1);
      add(y > 0, at - widthPx);
      add(y < heightPx - 1, at + widthPx);
      if (neighbours > 0) green[at] = Math.round(sum / neighbours);
    }
  }
  return { ...image, data: green };
}
