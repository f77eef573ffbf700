import { unreadable } from './unreadable.js';

/** The eight bytes every PNG starts with. */
export const pngSignature = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a);

/** What a PNG declares, read from its chunks before any pixel is decoded. */
export interface PngStructure {
  widthPx: number;
  heightPx: number;
  bitDepth: number;
  colourType: number;
  /** Bits that carry information (sBIT), where the file says so. */
  significantBits: number | null;
  interlaced: boolean;
  /** Compressed pixel data. */
  pixelData: Uint8Array[];
  /** Signature, IHDR, IDAT and IEND only: no text or profile reaches a decoder. */
  essential: Uint8Array[];
}

/** Walks the chunks of a PNG. Throws image-unreadable where the structure is broken. */
export function readPngChunks(bytes: Uint8Array, file: string): PngStructure {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const kept: Uint8Array[] = [bytes.subarray(0, 8)];
  const pixelData: Uint8Array[] = [];
  let header: DataView | null = null;
  let significantBits: number | null = null;
  for (let at = 8; ; ) {
    if (at + 12 > bytes.length) throw unreadable(file, 'a PNG that ends early (truncated)');
    const length = view.getUint32(at);
    const next = at + 12 + length;
    if (next > bytes.length) throw unreadable(file, 'a PNG that ends early (truncated)');
    const type = String.fromCharCode(...bytes.subarray(at + 4, at + 8));
    if (header === null && (type !== 'IHDR' || length !== 13)) throw unreadable(file, 'a PNG without a header');
    if (type === 'IHDR') {
      if (bytes[at + 18] !== 0 || bytes[at + 19] !== 0)
        throw unreadable(file, 'a PNG of unknown compression or filter');
      if (header) throw unreadable(file, 'a PNG with two headers');
      header = new DataView(bytes.buffer, bytes.byteOffset + at + 8, 13);
    }
    if (type === 'sBIT' && length > 0) significantBits = bytes[at + 8]!;
    if (type === 'IDAT') pixelData.push(bytes.subarray(at + 8, at + 8 + length));
    if (type === 'IHDR' || type === 'IDAT' || type === 'IEND') kept.push(bytes.subarray(at, next));
    if (type === 'IEND') break;
    at = next;
  }
  return {
    widthPx: header!.getUint32(0),
    heightPx: header!.getUint32(4),
    bitDepth: header!.getUint8(8),
    colourType: header!.getUint8(9),
    significantBits,
    interlaced: header!.getUint8(12) !== 0,
    pixelData,
    essential: kept,
  };
}

/** Puts byte arrays one after the other. */
export function joinBytes(parts: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/** Checks the CRC-32 of chunks. Throws image-unreadable for the first that is damaged. */
export function requireWholeChunks(chunks: readonly Uint8Array[], file: string): void {
  for (const chunk of chunks) {
    const stated = new DataView(chunk.buffer, chunk.byteOffset).getUint32(chunk.length - 4);
    if (stated !== crcOf(chunk)) {
      throw unreadable(file, `damaged data (CRC of a chunk ${String.fromCharCode(...chunk.subarray(4, 8))} is wrong)`);
    }
  }
}

/** A chunk with its length and CRC-32. */
export function pngChunk(type: string, content: Uint8Array): Uint8Array {
  const chunk = new Uint8Array(12 + content.length);
  const view = new DataView(chunk.buffer);
  view.setUint32(0, content.length);
  for (let i = 0; i < 4; i++) chunk[4 + i] = type.charCodeAt(i);
  chunk.set(content, 8);
  view.setUint32(8 + content.length, crcOf(chunk));
  return chunk;
}

/** CRC-32 over a chunk's type and content (ISO 15948, annex D). */
function crcOf(chunk: Uint8Array): number {
  let crc = -1;
  for (let i = 4; i < chunk.length - 4; i++) crc = crcTable[(crc ^ chunk[i]!) & 0xff]! ^ (crc >>> 8);
  return (crc ^ -1) >>> 0;
}

const crcTable = Int32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? 0xedb88320 ^ (crc >>> 1) : crc >>> 1;
  return crc;
});
