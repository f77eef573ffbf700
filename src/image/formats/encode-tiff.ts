import { type GreyImage, requireGreyImage } from '../grey-image.js';
import { tiffTag } from './tiff-tags.js';

/** What may be written beside the pixels. */
export interface TiffText {
  /** ImageDescription of every page (UTF-8); empty = none. */
  description?: string;
}

type Field = { tag: number; type: 2 | 3 | 4 | 5; values: readonly number[] };

/**
 * Writes an uncompressed little-endian TIFF 6.0 with one page per image, 8 or 16 bit grey. 9 … 15 bit data keep their
 * values in 16-bit samples; MaxSampleValue = 2^bitDepth − 1 keeps the depth.
 *
 * Throws   RangeError for an image that contradicts itself, no image, or more than 4 GB.
 * Source   TIFF 6.0 (1992), sections 2, 3 and 8
 * Checked  property: decodeImagePages(encodeTiff(images)) equals the images, 8 … 16 bit, 1 … 4 pages
 */
export function encodeTiff(images: GreyImage | readonly GreyImage[], { description = '' }: TiffText = {}): Uint8Array {
  const pages: readonly GreyImage[] = 'data' in images ? [images] : images;
  if (pages.length === 0) throw new RangeError('images is empty; allowed: at least one image');
  pages.forEach((page, i) => {
    requireGreyImage(`images[${i}]`, page);
  });
  const text = utf8(description);
  const plans = pages.map((page) => ({ page, fields: fieldsOf(page, text), pixelBytes: even(pixelBytesOf(page)) }));
  const total = plans.reduce((sum, { fields, pixelBytes }) => sum + pixelBytes + directoryBytes(fields), 8);
  if (total > 0xffffffff) throw new RangeError(`the file is ${total} bytes; allowed: below 4 GB, write fewer pages`);
  const bytes = new Uint8Array(total);
  const view = new DataView(bytes.buffer);
  view.setUint16(0, 0x4949, true);
  view.setUint16(2, 42, true);
  let at = 8;
  let link = 4; // where the offset of the next directory goes
  for (const { page, fields, pixelBytes } of plans) {
    writePixels(page, bytes, view, at);
    fields.find(({ tag }) => tag === tiffTag.stripOffsets)!.values = [at];
    at += pixelBytes;
    view.setUint32(link, at, true);
    link = writeDirectory(fields, view, at);
    at += directoryBytes(fields);
  }
  return bytes;
}

const even = (count: number): number => count + (count & 1);
const containerBytes = (page: GreyImage): 1 | 2 => (page.bitDepth === 8 ? 1 : 2);
const pixelBytesOf = (page: GreyImage): number => page.data.length * containerBytes(page);
const fieldBytes = { 2: 1, 3: 2, 4: 4, 5: 8 } as const;
const valueBytes = ({ type, values }: Field): number =>
  fieldBytes[type] * (type === 5 ? values.length / 2 : values.length);
const outsideBytes = (field: Field): number => (valueBytes(field) > 4 ? even(valueBytes(field)) : 0);
const directoryBytes = (fields: readonly Field[]): number =>
  fields.reduce((sum, field) => sum + 12 + outsideBytes(field), 6);

function fieldsOf(page: GreyImage, text: readonly number[]): Field[] {
  const short = (tag: number, value: number): Field => ({ tag, type: 3, values: [value] });
  const long = (tag: number, value: number): Field => ({ tag, type: 4, values: [value] });
  return [
    long(tiffTag.imageWidth, page.widthPx),
    long(tiffTag.imageLength, page.heightPx),
    short(tiffTag.bitsPerSample, 8 * containerBytes(page)),
    short(tiffTag.compression, 1),
    short(tiffTag.photometric, 1),
    ...(text.length > 0 ? [{ tag: tiffTag.imageDescription, type: 2 as const, values: [...text, 0] }] : []),
    long(tiffTag.stripOffsets, 0),
    short(tiffTag.samplesPerPixel, 1),
    long(tiffTag.rowsPerStrip, page.heightPx),
    long(tiffTag.stripByteCounts, pixelBytesOf(page)),
    short(tiffTag.maxSampleValue, 2 ** page.bitDepth - 1),
    { tag: tiffTag.xResolution, type: 5, values: [1, 1] },
    { tag: tiffTag.yResolution, type: 5, values: [1, 1] },
    short(tiffTag.resolutionUnit, 1),
    short(tiffTag.sampleFormat, 1),
  ];
}

/** Returns where the offset of the following directory goes. */
function writeDirectory(fields: readonly Field[], view: DataView, start: number): number {
  let outside = start + 6 + 12 * fields.length;
  view.setUint16(start, fields.length, true);
  fields.forEach((field, i) => {
    const entry = start + 2 + 12 * i;
    view.setUint16(entry, field.tag, true);
    view.setUint16(entry + 2, field.type, true);
    view.setUint32(entry + 4, field.type === 5 ? field.values.length / 2 : field.values.length, true);
    const inline = outsideBytes(field) === 0;
    if (!inline) view.setUint32(entry + 8, outside, true);
    const step = field.type === 2 ? 1 : field.type === 3 ? 2 : 4;
    field.values.forEach((value, k) => {
      const at = (inline ? entry + 8 : outside) + k * step;
      if (step === 1) view.setUint8(at, value);
      else if (step === 2) view.setUint16(at, value, true);
      else view.setUint32(at, value, true);
    });
    outside += outsideBytes(field);
  });
  return start + 2 + 12 * fields.length;
}

function writePixels(page: GreyImage, bytes: Uint8Array, view: DataView, start: number): void {
  if (containerBytes(page) === 1) {
    bytes.set(page.data, start);
    return;
  }
  for (let i = 0; i < page.data.length; i++) view.setUint16(start + 2 * i, page.data[i]!, true);
}

/** Bytes of a text in UTF-8 (pure code has no TextEncoder). */
export function utf8(text: string): number[] {
  if (text.includes('\0')) throw new RangeError('description holds a zero character; allowed: text without it');
  return Array.from(
    encodeURIComponent(text).replace(/%([0-9A-F]{2})/g, (_, hex: string) =>
      String.fromCharCode(Number.parseInt(hex, 16)),
    ),
    (character) => character.charCodeAt(0),
  );
}
