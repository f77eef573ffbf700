import { tiffTag, tiffTypeBytes } from './tiff-tags.js';
import { unreadable } from './unreadable.js';

/** Most pages followed in one file. */
const mostPages = 10_000;
/** Most entries in one directory; cameras write a few dozen. */
const mostEntries = 512;

/** One page's directory: values by tag number, and the description. */
export interface TiffDirectory {
  values: Map<number, number[]>;
  description: string | null;
}

/** The pages a TIFF declares. */
export interface TiffStructure {
  pages: TiffDirectory[];
  /** A copy in which only the fields this tool uses are visible to a decoder. */
  essential(): Uint8Array;
}

const usedTags = new Set<number>(Object.values(tiffTag));

/**
 * Walks the directories of a TIFF before anything is decoded: circles, values outside the file and directories without
 * end are refused, so that a damaged file cannot hang the decoder.
 *
 * Throws   FocuswrightError image-unreadable with what was met.
 * Source   TIFF 6.0 (1992), section 2
 */
export function readTiffStructure(bytes: Uint8Array, file: string): TiffStructure {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const cut = () => unreadable(file, 'a TIFF whose directory points outside the file (truncated)');
  if (bytes.length < 8) throw cut();
  const little = view.getUint8(0) === 0x49;
  const u16 = (at: number) => view.getUint16(at, little);
  const u32 = (at: number) => view.getUint32(at, little);
  if (u16(2) === 43) throw unreadable(file, 'a BigTIFF (64-bit offsets)');
  const pages: TiffDirectory[] = [];
  const seen = new Set<number>();
  const hidden: number[] = [];
  let valueBytes = 0;
  for (let at = u32(4); at !== 0; ) {
    if (seen.has(at) || pages.length >= mostPages) throw unreadable(file, 'a TIFF whose pages form a circle');
    seen.add(at);
    if (at + 2 > bytes.length) throw cut();
    const entries = u16(at);
    if (entries > mostEntries) throw unreadable(file, `a TIFF directory of ${entries} entries`);
    if (at + 6 + 12 * entries > bytes.length) throw cut();
    const page: TiffDirectory = { values: new Map(), description: null };
    for (let i = 0; i < entries; i++) {
      const entry = at + 2 + 12 * i;
      const tag = u16(entry);
      const type = u16(entry + 2);
      const count = u32(entry + 4);
      const size = tiffTypeBytes[type];
      if (!usedTags.has(tag) || size === undefined) {
        hidden.push(entry + 2);
        continue;
      }
      const length = size * count;
      const start = length > 4 ? u32(entry + 8) : entry + 8;
      valueBytes += length;
      if (count === 0 || start + length > bytes.length || valueBytes > 2 * bytes.length) throw cut();
      if (tag === tiffTag.imageDescription) page.description = textAt(bytes, start, length);
      else if (type === 1 || type === 3 || type === 4) page.values.set(tag, readValues(start, count, size));
    }
    pages.push(page);
    at = u32(at + 2 + 12 * entries);
  }
  if (pages.length === 0) throw unreadable(file, 'a TIFF without a page');
  return {
    pages,
    essential() {
      const copy = new Uint8Array(bytes); // slice() of a Node Buffer would share its memory
      // A field of type 0 is unknown to the decoder, which skips it.
      for (const at of hidden) copy.fill(0, at, at + 2);
      return copy;
    },
  };

  function readValues(start: number, count: number, size: number): number[] {
    const read = size === 1 ? (at: number) => view.getUint8(at) : size === 2 ? u16 : u32;
    return Array.from({ length: count }, (_, i) => read(start + i * size));
  }
}

/** UTF-8 text up to the closing zero; bytes that are no UTF-8 are taken as Latin-1. */
function textAt(bytes: Uint8Array, start: number, length: number): string {
  const end = bytes.subarray(start, start + Math.min(length, 65_536));
  const zero = end.indexOf(0);
  const text = Array.from(zero < 0 ? end : end.subarray(0, zero), (byte) => String.fromCharCode(byte)).join('');
  try {
    return decodeURIComponent(
      text.replace(/[%\u0080-\u00ff]/g, (c) => `%${c.charCodeAt(0).toString(16).padStart(2, '0')}`),
    );
  } catch {
    return text;
  }
}
