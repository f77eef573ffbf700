import { requireInteger } from '../../base/index.js';
import { utf8 } from './encode-tiff.js';

/**
 * Writes one page of 32-bit real numbers as uncompressed little-endian TIFF 6.0 (SampleFormat 3); NaN stays NaN.
 *
 * Throws   RangeError if the data do not fill the picture.
 * Source   TIFF 6.0 (1992), sections 2 and 19
 * Checked  by hand: read back by Pillow 9.4 with the same values; property: structure, tests/image/float-tiff.test.ts
 */
export function encodeFloatTiff(
  { widthPx, heightPx, data }: { widthPx: number; heightPx: number; data: Float32Array },
  { description = '' }: { description?: string } = {},
): Uint8Array {
  requireInteger('widthPx', widthPx, { min: 1, unit: 'px' });
  requireInteger('heightPx', heightPx, { min: 1, unit: 'px' });
  if (data.length !== widthPx * heightPx) {
    throw new RangeError(`data holds ${data.length} values; allowed: ${widthPx} × ${heightPx} = ${widthPx * heightPx}`);
  }
  const text = [...utf8(description), 0];
  const textAt = 8 + 4 * data.length;
  const directoryAt = textAt + text.length + (text.length & 1);
  // Tag, type (2 text, 3 short, 4 long), count, value or offset; in rising order of tags.
  const fields: [number, 2 | 3 | 4, number, number][] = [
    [256, 4, 1, widthPx],
    [257, 4, 1, heightPx],
    [258, 3, 1, 32],
    [259, 3, 1, 1],
    [262, 3, 1, 1],
    ...(text.length > 4 ? [[270, 2, text.length, textAt] as [number, 2, number, number]] : []),
    [273, 4, 1, 8],
    [277, 3, 1, 1],
    [278, 4, 1, heightPx],
    [279, 4, 1, 4 * data.length],
    [339, 3, 1, 3],
  ];
  const bytes = new Uint8Array(directoryAt + 2 + 12 * fields.length + 4);
  const view = new DataView(bytes.buffer);
  view.setUint16(0, 0x4949, true);
  view.setUint16(2, 42, true);
  view.setUint32(4, directoryAt, true);
  data.forEach((value, i) => {
    view.setFloat32(8 + 4 * i, value, true);
  });
  bytes.set(text, textAt);
  view.setUint16(directoryAt, fields.length, true);
  fields.forEach(([tag, type, count, value], i) => {
    const at = directoryAt + 2 + 12 * i;
    view.setUint16(at, tag, true);
    view.setUint16(at + 2, type, true);
    view.setUint32(at + 4, count, true);
    if (type === 3) view.setUint16(at + 8, value, true);
    else view.setUint32(at + 8, value, true);
  });
  return bytes;
}
