import type { TiffDirectory } from './tiff-structure.js';
import { tiffTag } from './tiff-tags.js';
import { requireDeclaredSize, unreadable } from './unreadable.js';

/** One page as its directory declares it, checked: 8 or 16 bit unsigned in 1 … 4 channels, or 32 or 64 bit floating point in one;
 *  data inside the file. */
export interface TiffPage {
  widthPx: number;
  heightPx: number;
  bitDepth: 8 | 16 | 32 | 64;
  channels: number;
  compression: number;
  /** Strips or tiles: start, length in the file, and length when uncompressed. */
  blocks: { start: number; byteCount: number; plainByteCount: number }[];
  /** Black-is-zero strips of one channel without compression: their bytes are the pixels. */
  plain: boolean;
  /** MaxSampleValue where it is written. */
  maxSampleValue: number | null;
}

/** SampleFormat. */
const floatingPoint = 3;
const isFloatDepth = (bits: number | undefined): boolean => bits === 32 || bits === 64;
const isWholeDepth = (bits: number | undefined): boolean => bits === 8 || bits === 16;

/** None, LZW, deflate (two codes). */
const compressions = [1, 5, 8, 32946];

/** Checks one directory. Throws image-too-large or image-unreadable with what was met. */
export function checkTiffPage({ values }: TiffDirectory, fileBytes: number, file: string): TiffPage {
  const one = (tag: number, fallback: number) => values.get(tag)?.[0] ?? fallback;
  const widthPx = one(tiffTag.imageWidth, 0);
  const heightPx = one(tiffTag.imageLength, 0);
  requireDeclaredSize(file, widthPx, heightPx);
  const channels = one(tiffTag.samplesPerPixel, 1);
  const bits = values.get(tiffTag.bitsPerSample) ?? [1];
  const bitDepth = bits[0];
  const sampleFormat = one(tiffTag.sampleFormat, 1);
  const kind = sampleFormat === 1 ? '' : sampleFormat === floatingPoint ? ' floating point' : ' in signed samples';
  const fits = sampleFormat === floatingPoint ? isFloatDepth(bitDepth) : sampleFormat === 1 && isWholeDepth(bitDepth);
  if (!fits || bits.some((b) => b !== bitDepth)) throw unreadable(file, `a TIFF of ${bits.join(' + ')} bit${kind}`);
  if (
    isFloatDepth(bitDepth) &&
    (channels !== 1 || one(tiffTag.photometric, -1) !== 1 || one(tiffTag.predictor, 1) !== 1)
  ) {
    throw unreadable(file, 'a floating-point TIFF that is not plain grey, black at zero, without a predictor');
  }
  if (channels < 1 || channels > 4) throw unreadable(file, `a TIFF of ${channels} channels`);
  const photometric = one(tiffTag.photometric, -1);
  const wanted = channels < 3 ? [0, 1] : [2];
  if (!wanted.includes(photometric)) throw unreadable(file, `a TIFF of photometric interpretation ${photometric}`);
  const compression = one(tiffTag.compression, 1);
  if (!compressions.includes(compression)) throw unreadable(file, `a TIFF of compression ${compression}`);
  if (one(tiffTag.fillOrder, 1) !== 1)
    throw unreadable(file, 'a TIFF with the bits of each byte reversed (FillOrder 2)');
  // The decoder would undo the predictor over whole rows instead of tile by tile.
  if (values.has(tiffTag.tileOffsets) && one(tiffTag.predictor, 1) !== 1) {
    throw unreadable(file, 'a TIFF of tiles with a predictor; export it in strips, or without the predictor');
  }
  if (channels > 1 && one(tiffTag.planarConfiguration, 1) !== 1) throw unreadable(file, 'a TIFF of separate planes');
  const blocks = values.has(tiffTag.tileOffsets)
    ? tilesOf(values, file, channels * (bitDepth! / 8), { widthPx, heightPx })
    : stripsOf(values, file, (widthPx * channels * bitDepth!) / 8, heightPx);
  for (const { start, byteCount, plainByteCount } of blocks) {
    if (start + byteCount > fileBytes || (compression === 1 && byteCount < plainByteCount)) {
      throw unreadable(file, 'a TIFF that ends early (truncated)');
    }
  }
  const maxSampleValue = one(tiffTag.maxSampleValue, -1);
  return {
    widthPx,
    heightPx,
    bitDepth: bitDepth as TiffPage['bitDepth'],
    channels,
    compression,
    blocks,
    plain: compression === 1 && isWholeDepth(bitDepth) && channels === 1 && photometric === 1 && isPlain(values),
    maxSampleValue: maxSampleValue < 0 ? null : maxSampleValue,
  };
}

const isPlain = (values: Map<number, number[]>): boolean =>
  !values.has(tiffTag.tileOffsets) &&
  (values.get(tiffTag.predictor)?.[0] ?? 1) === 1 &&
  (values.get(tiffTag.orientation)?.[0] ?? 1) === 1;

function stripsOf(values: Map<number, number[]>, file: string, lineBytes: number, heightPx: number) {
  const rows = Math.min(heightPx, values.get(tiffTag.rowsPerStrip)?.[0] ?? heightPx);
  const starts = values.get(tiffTag.stripOffsets) ?? [];
  const counts = values.get(tiffTag.stripByteCounts) ?? [];
  if (rows < 1 || starts.length !== Math.ceil(heightPx / rows) || counts.length !== starts.length) {
    throw unreadable(file, `a TIFF of ${starts.length} strips with ${counts.length} lengths`);
  }
  return starts.map((start, i) => ({
    start,
    byteCount: counts[i]!,
    plainByteCount: lineBytes * Math.min(rows, heightPx - i * rows),
  }));
}

function tilesOf(
  values: Map<number, number[]>,
  file: string,
  pixelBytes: number,
  { widthPx, heightPx }: { widthPx: number; heightPx: number },
) {
  const width = values.get(tiffTag.tileWidth)?.[0] ?? 0;
  const height = values.get(tiffTag.tileLength)?.[0] ?? 0;
  const starts = values.get(tiffTag.tileOffsets) ?? [];
  const counts = values.get(tiffTag.tileByteCounts) ?? [];
  if (width < 1 || height < 1 || width * height > 16e6)
    throw unreadable(file, `a TIFF of ${width} × ${height} px tiles`);
  const wanted = Math.ceil(widthPx / width) * Math.ceil(heightPx / height);
  if (starts.length !== wanted || counts.length !== wanted || pixelBytes === 3 || pixelBytes === 6) {
    throw unreadable(file, `a TIFF of ${starts.length} tiles where ${wanted} single-channel ones are needed`);
  }
  return starts.map((start, i) => ({ start, byteCount: counts[i]!, plainByteCount: width * height * pixelBytes }));
}
