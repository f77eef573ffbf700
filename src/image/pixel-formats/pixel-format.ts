import type { BayerPattern } from '../bayer-plane.js';

/** How the bits of a format lie in memory. */
export type PixelLayout =
  /** One byte a pixel. */
  | 'bytes'
  /** Two bytes a pixel, low byte first, unused bits at the top. */
  | 'words'
  /** One pixel's bits after the other, lowest bit first, over the borders of bytes (names that end in p). */
  | 'bit-stream'
  /** Two pixels in three bytes: upper bits of the first, lower bits of both, upper bits of the second (names that end in Packed). */
  | 'pairs';

/** A monochrome or Bayer format of a camera. */
export interface PixelFormat {
  bitDepth: number;
  layout: PixelLayout;
  /** Colours of the first two pixels of the first row; null for monochrome. */
  bayer: BayerPattern | null;
}

const shape = /^(Mono|Bayer(RG|GR|GB|BG))(8|10|12|14|16)(p|Packed)?$/;

/** What the names may be, for messages. */
export const pixelFormatsInWords =
  'Mono or BayerRG, GR, GB, BG, followed by 8, 10, 12, 14, 16, by 10p, 12p, 14p, or by 10Packed, 12Packed';

/**
 * A pixel format by its name in the GenICam Pixel Format Naming Convention.
 *
 * Returns  null for a format that is not monochrome or Bayer of 8 to 16 bit
 * Source   GenICam PFNC 2.x for the names and the `p` formats; GigE Vision for the older `Packed` ones (both from memory)
 * Checked  closed form: bit patterns written out by hand, tests/image/pixel-formats.test.ts
 */
export function pixelFormat(name: string): PixelFormat | null {
  const found = shape.exec(name);
  if (!found) return null;
  const bitDepth = Number(found[3]);
  const packing = found[4];
  const bayer = (found[2] as BayerPattern | undefined) ?? null;
  if (packing === undefined) return { bitDepth, layout: bitDepth === 8 ? 'bytes' : 'words', bayer };
  if (packing === 'Packed') return bitDepth === 10 || bitDepth === 12 ? { bitDepth, layout: 'pairs', bayer } : null;
  return bitDepth === 10 || bitDepth === 12 || bitDepth === 14 ? { bitDepth, layout: 'bit-stream', bayer } : null;
}
