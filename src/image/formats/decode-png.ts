import { decode } from 'fast-png';
import type { GreyImage } from '../grey-image.js';
import { greyFromChannels } from './grey-from-channels.js';
import { beyondLimit, type Inflate, inflated, inflatedLength } from './inflate.js';
import { joinBytes, type PngStructure, readPngChunks, requireWholeChunks } from './png-chunks.js';
import { unfilterPng } from './unfilter-png.js';
import { decoding, requireDeclaredSize, unreadable } from './unreadable.js';

const channelsByColourType: Record<number, number> = { 0: 1, 2: 3, 4: 2, 6: 4 };

/**
 * Reads an 8 or 16 bit PNG: grey, or colour whose channels are equal. Where sBIT tells fewer significant bits (12-bit data
 * scaled to 16), the true values and bit depth are restored.
 *
 * Input    `inflate`: a faster one, where the surroundings have it
 * Throws   FocuswrightError image-too-large before decoding; image-unreadable for anything else, with what was met.
 */
export function decodePng(bytes: Uint8Array, file: string, inflate?: Inflate): GreyImage {
  const structure = readPngChunks(bytes, file);
  const { widthPx, heightPx, bitDepth, colourType, significantBits } = structure;
  requireDeclaredSize(file, widthPx, heightPx);
  const channels = channelsByColourType[colourType];
  if (channels === undefined) throw unreadable(file, 'a PNG with a palette');
  if (bitDepth !== 8 && bitDepth !== 16) throw unreadable(file, `a PNG of ${bitDepth} bit`);
  return decoding(file, () => {
    const about = { file, widthPx, heightPx, bitDepth, channels } as const;
    const samples = structure.interlaced ? interlaced(structure, about) : plain(structure, about, inflate);
    const image =
      channels === 1 ? { widthPx, heightPx, bitDepth, data: samples } : greyFromChannels({ ...about, samples });
    return withSignificantBits(image, significantBits);
  });
}

interface About {
  file: string;
  widthPx: number;
  heightPx: number;
  bitDepth: 8 | 16;
  channels: number;
}

const lineBytesOf = ({ widthPx, channels, bitDepth }: About): number => 1 + (widthPx * channels * bitDepth) / 8;

function plain({ essential, pixelData }: PngStructure, about: About, inflate: Inflate | undefined) {
  const { file, heightPx } = about;
  requireWholeChunks(essential.slice(1), file);
  const size = lineBytesOf(about) * heightPx;
  const limit = size + 64;
  const lines = inflate ? inflatedBy(inflate, file, pixelData, limit) : inflated(file, pixelData, limit);
  if (lines.length < size) throw unreadable(file, 'a PNG with too few pixels (truncated)');
  return unfilterPng({ ...about, lines });
}

/** A runtime's inflater says in its own words that the limit is passed. */
function inflatedBy(inflate: Inflate, file: string, pixelData: readonly Uint8Array[], limit: number): Uint8Array {
  try {
    return inflate(joinBytes(pixelData), limit);
  } catch (cause) {
    if ((cause as { code?: unknown }).code === 'ERR_BUFFER_TOO_LARGE') throw beyondLimit(file, limit);
    throw cause;
  }
}

function interlaced({ essential, pixelData }: PngStructure, about: About): Uint8Array | Uint16Array {
  const { file, heightPx } = about;
  const lineBytes = lineBytesOf(about);
  // Up to seven passes, each with its own filter bytes.
  const length = inflatedLength(file, pixelData, lineBytes * heightPx + 15 * heightPx + 64);
  if (length < (lineBytes - 1) * heightPx) throw unreadable(file, 'a PNG with too few pixels (truncated)');
  const { data } = decode(joinBytes(essential), { checkCrc: true });
  return data instanceof Uint16Array ? data : Uint8Array.from(data);
}

function withSignificantBits(image: GreyImage, significantBits: number | null): GreyImage {
  if (image.bitDepth !== 16 || significantBits === null || significantBits < 8 || significantBits > 15) return image;
  const shift = 16 - significantBits;
  return { ...image, bitDepth: significantBits, data: image.data.map((value) => value >> shift) };
}
