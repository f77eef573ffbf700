import { decode } from 'fast-png';
import type { GreyImage } from '../grey-image.js';
import { greyFromChannels } from './grey-from-channels.js';
import { inflatedLength } from './inflated-length.js';
import { readPngChunks } from './png-chunks.js';
import { decoding, requireDeclaredSize, unreadable } from './unreadable.js';

const channelsByColourType: Record<number, number> = { 0: 1, 2: 3, 4: 2, 6: 4 };

/**
 * Reads an 8 or 16 bit PNG: grey, or colour whose channels are equal. Where sBIT tells fewer significant bits (12-bit data
 * scaled to 16), the true values and bit depth are restored.
 *
 * Throws   FocuswrightError image-too-large before decoding; image-unreadable for anything else, with what was met.
 */
export function decodePng(bytes: Uint8Array, file: string): GreyImage {
  const { widthPx, heightPx, bitDepth, colourType, significantBits, pixelData, essential } = readPngChunks(bytes, file);
  requireDeclaredSize(file, widthPx, heightPx);
  const channels = channelsByColourType[colourType];
  if (channels === undefined) throw unreadable(file, 'a PNG with a palette');
  if (bitDepth !== 8 && bitDepth !== 16) throw unreadable(file, `a PNG of ${bitDepth} bit`);
  return decoding(file, () => {
    const lineBytes = 1 + (widthPx * channels * bitDepth) / 8;
    // Interlaced files carry up to seven passes, each with its own filter bytes.
    const limit = lineBytes * heightPx + 15 * heightPx + 64;
    const inflated = inflatedLength(file, pixelData, limit);
    if (inflated < (lineBytes - 1) * heightPx) throw unreadable(file, 'a PNG with too few pixels (truncated)');
    const { data } = decode(essential, { checkCrc: true });
    const image = greyFromChannels({ file, widthPx, heightPx, bitDepth, channels, samples: data });
    return withSignificantBits(image, significantBits);
  });
}

function withSignificantBits(image: GreyImage, significantBits: number | null): GreyImage {
  if (image.bitDepth !== 16 || significantBits === null || significantBits < 8 || significantBits > 15) return image;
  const shift = 16 - significantBits;
  return { ...image, bitDepth: significantBits, data: image.data.map((value) => value >> shift) };
}
