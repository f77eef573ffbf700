import type { GreyImage } from '../grey-image.js';
import { decodePng } from './decode-png.js';
import { decodeTiff } from './decode-tiff.js';
import type { Inflate } from './inflate.js';
import { pngSignature, readPngChunks } from './png-chunks.js';
import { checkTiffPage } from './tiff-page.js';
import { readTiffStructure } from './tiff-structure.js';
import { decoding, pageMissing, unreadable } from './unreadable.js';

/**
 * Reads a PNG or TIFF file as one grey image (the first page of several). The kind is told from the bytes, not the name.
 *
 * Input    8 or 16 bit grey, or colour whose channels are equal; fileName only serves messages; `inflate` for PNG, where the
 *          surroundings have a faster one
 * Returns  GreyImage; 9 … 15 bit data in 16-bit samples keep their bit depth where the file tells it
 * Throws   FocuswrightError image-too-large (over 128 Mpx, before decoding) or image-unreadable with details { file, met }.
 * Trust    greys are taken as linear: a gamma written into the file is not undone.
 * Checked  property: round trips, and random damage to valid files never does anything but these two errors
 */
export function decodeImage(bytes: Uint8Array, fileName = 'image', { inflate }: { inflate?: Inflate } = {}): GreyImage {
  return kindOf(bytes, fileName) === 'png'
    ? decodePng(bytes, fileName, inflate)
    : decodeTiff(bytes, fileName, { pageIndex: 0 })[0]!;
}

/** One page, counted from 0, without decoding the others. Throws also where the file has no such page. */
export function decodeImagePage(bytes: Uint8Array, pageIndex: number, fileName = 'image'): GreyImage {
  if (kindOf(bytes, fileName) === 'tiff') return decodeTiff(bytes, fileName, { pageIndex })[0]!;
  if (pageIndex !== 0) throw pageMissing(fileName, pageIndex, 1);
  return decodePng(bytes, fileName);
}

/** How many pages the file has; a PNG has one. Throws as decodeImage. */
export function imagePageCount(bytes: Uint8Array, fileName = 'image'): number {
  if (kindOf(bytes, fileName) === 'png') return 1;
  return decoding(fileName, () => readTiffStructure(bytes, fileName).pages.length);
}

/** All pages of a TIFF, or the one image of a PNG; otherwise as decodeImage. */
export function decodeImagePages(bytes: Uint8Array, fileName = 'image'): GreyImage[] {
  return kindOf(bytes, fileName) === 'png' ? [decodePng(bytes, fileName)] : decodeTiff(bytes, fileName);
}

/** Width and height as the file declares them (the first page of several); no pixel is decoded. Throws as decodeImage. */
export function declaredImageSize(bytes: Uint8Array, fileName = 'image'): { widthPx: number; heightPx: number } {
  const { widthPx, heightPx } =
    kindOf(bytes, fileName) === 'png'
      ? readPngChunks(bytes, fileName)
      : decoding(fileName, () => checkTiffPage(readTiffStructure(bytes, fileName).pages[0]!, bytes.length, fileName));
  return { widthPx, heightPx };
}

/** ImageDescription of a TIFF's first page; null where there is none, or for a PNG. */
export function imageDescription(bytes: Uint8Array, fileName = 'image'): string | null {
  if (kindOf(bytes, fileName) === 'png') return null;
  return decoding(fileName, () => readTiffStructure(bytes, fileName).pages[0]!.description);
}

function kindOf(bytes: Uint8Array, file: string): 'png' | 'tiff' {
  if (pngSignature.every((byte, i) => bytes[i] === byte)) return 'png';
  const order = bytes[0] === bytes[1] ? bytes[0] : 0;
  const [magic, pad] = order === 0x49 ? [bytes[2], bytes[3]] : [bytes[3], bytes[2]];
  if ((order === 0x49 || order === 0x4d) && (magic === 42 || magic === 43) && pad === 0) return 'tiff';
  throw unreadable(file, bytes.length === 0 ? 'an empty file' : 'neither a PNG nor a TIFF');
}
