import { decode } from 'tiff';
import type { GreyImage } from '../grey-image.js';
import { greyFromChannels } from './grey-from-channels.js';
import { greyFromFloats } from './grey-from-floats.js';
import { inflatedLength } from './inflate.js';
import { checkTiffPage, type TiffPage } from './tiff-page.js';
import { readTiffStructure } from './tiff-structure.js';
import { decoding, largestImageMpx, pageMissing, unreadable } from './unreadable.js';

/** LZW can expand thousandfold and its decoder has no limit: larger blocks are refused. */
const largestLzwBlockBytes = 1 << 19;

/**
 * Reads the pages (or only one) of an 8 or 16 bit TIFF (uncompressed, LZW or deflate; strips or tiles): grey, or colour whose channels are
 * equal; or 32 or 64 bit floating-point grey (greyFromFloats). MaxSampleValue = 2^n − 1 (n 9 … 15) in 16-bit samples is read as a bit depth of n.
 *
 * Throws   FocuswrightError image-too-large before decoding; image-unreadable for anything else, with what was met.
 */
export function decodeTiff(bytes: Uint8Array, file: string, only?: { pageIndex: number }): GreyImage[] {
  return decoding(file, () => {
    const { pages, essential } = readTiffStructure(bytes, file);
    const from = only?.pageIndex ?? 0;
    if (from >= pages.length) throw pageMissing(file, from, pages.length);
    const wanted = pages
      .slice(from, only ? from + 1 : undefined)
      .map((page) => checkTiffPage(page, bytes.length, file));
    const pixels = wanted.reduce((sum, page) => sum + page.widthPx * page.heightPx, 0);
    if (pixels > 8 * largestImageMpx * 1e6)
      throw unreadable(file, `${wanted.length} pages of ${pixels / 1e6} Mpx in all`);
    for (const page of wanted) checkBlocks(page, bytes, file);
    const readable = wanted.every((page) => page.plain) ? null : essential();
    return wanted.map((page, index) => {
      const image =
        page.plain || readable === null
          ? plainImage(page, bytes)
          : greyOf(page, file, decode(readable, { pages: [from + index] })[0]!.data);
      return page.bitDepth === 16 ? { ...image, bitDepth: trueBitDepth(page, image) } : image;
    });
  });
}

function greyOf(page: TiffPage, file: string, samples: ArrayLike<number>): GreyImage {
  const { bitDepth } = page;
  if (bitDepth === 32 || bitDepth === 64) return greyFromFloats({ file, ...page, samples });
  return greyFromChannels({ file, ...page, bitDepth, samples });
}

/** Uncompressed strips, as this tool writes them, need no decoder: ten times faster. */
function plainImage({ widthPx, heightPx, bitDepth, blocks }: TiffPage, bytes: Uint8Array): GreyImage {
  const count = widthPx * heightPx;
  const data = bitDepth === 8 ? new Uint8Array(count) : new Uint16Array(count);
  const view = new DataView(bytes.buffer, bytes.byteOffset);
  const little = bytes[0] === 0x49;
  let at = 0;
  for (const { start, plainByteCount } of blocks) {
    if (data instanceof Uint8Array) data.set(bytes.subarray(start, start + plainByteCount), at);
    else for (let i = 0; i < plainByteCount; i += 2) data[at + i / 2] = view.getUint16(start + i, little);
    at += (plainByteCount * 8) / bitDepth;
  }
  return { widthPx, heightPx, bitDepth, data };
}

function checkBlocks({ compression, blocks }: TiffPage, bytes: Uint8Array, file: string): void {
  if (compression === 1) return;
  for (const { start, byteCount, plainByteCount } of blocks) {
    if (compression === 5) {
      if (byteCount > largestLzwBlockBytes)
        throw unreadable(file, `LZW strips of ${byteCount} bytes; use smaller ones`);
      continue;
    }
    const length = inflatedLength(file, [bytes.subarray(start, start + byteCount)], plainByteCount + 64);
    if (length < plainByteCount) throw unreadable(file, 'a TIFF with too few pixels (truncated)');
  }
}

function trueBitDepth({ maxSampleValue }: TiffPage, image: GreyImage): number {
  const bits = Math.log2((maxSampleValue ?? 0) + 1);
  if (!Number.isInteger(bits) || bits < 9 || bits > 15) return 16;
  return image.data.every((value) => value <= maxSampleValue!) ? bits : 16;
}
