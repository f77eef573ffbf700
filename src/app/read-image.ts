import { createHash } from 'node:crypto';
import { readFile, stat } from 'node:fs/promises';
import { FocuswrightError, systemReason } from '../base/index.js';
import { grabAsItStands } from '../drivers/index.js';
import {
  type BayerColour,
  type BayerPattern,
  bayerPlane,
  decodeImagePage,
  decodeImagePages,
  type GreyImage,
  imagePageCount,
  type Region,
  regionInWords,
  requireRegion,
} from '../image/index.js';

/** An image as it was read. */
export interface ReadImage {
  /** Path as given; of a camera its id. */
  file: string;
  /** SHA-256 of the file, or of a camera's grey values: the input hash of every result. */
  sha256: string;
  pageCount: number;
}

/** One colour of a Bayer mosaic, taken as a picture of its own. */
export interface BayerChoice {
  pattern: BayerPattern;
  colour: BayerColour;
}

/** A whole frame of 128 Mpx with four 16-bit channels is 1 GB; nothing larger is read into memory. */
const largestFileBytes = 1_100_000_000;

/**
 * Reads one page of a PNG or TIFF file, or takes a new frame of a camera (`genicam:CAMERA`) as it stands; `page` counts from 1.
 * With `bayer` one colour plane of a raw mosaic, half as large.
 *
 * Throws   `image-unreadable` (missing, no file, truncated, of another kind, no such page), `image-too-large`; of a camera what
 *          grabAsItStands throws.
 */
export async function readImage(
  path: string,
  { page = 1, bayer }: { page?: number; bayer?: BayerChoice } = {},
): Promise<ReadImage & { page: number; image: GreyImage }> {
  if (path.startsWith(cameraForm)) return cameraImage(path, { page, bayer });
  const bytes = await readImageBytes(path);
  const image = planeOf(decodeImagePage(bytes, page - 1, path), path, bayer);
  return { ...aboutFile(path, bytes), page, image };
}

const cameraForm = 'genicam:';

async function cameraImage(
  address: string,
  { page, bayer }: { page: number; bayer?: BayerChoice },
): Promise<ReadImage & { page: number; image: GreyImage }> {
  if (page !== 1)
    throw new FocuswrightError('image-unreadable', { file: address, met: `no page ${page}: it is one frame` });
  const { image, id } = await grabAsItStands(address.slice(cameraForm.length));
  const { buffer, byteOffset, byteLength } = image.data;
  const sha256 = createHash('sha256')
    .update(new Uint8Array(buffer, byteOffset, byteLength))
    .digest('hex');
  return { file: id, sha256, pageCount: 1, page, image: planeOf(image, id, bayer) };
}

/** Reads all pages of a PNG or TIFF file; otherwise as readImage. */
export async function readImagePages(
  path: string,
  { bayer }: { bayer?: BayerChoice } = {},
): Promise<ReadImage & { images: GreyImage[] }> {
  const bytes = await readImageBytes(path);
  const images = decodeImagePages(bytes, path).map((image) => planeOf(image, path, bayer));
  return { ...aboutFile(path, bytes), images };
}

/** The region, if it lies inside the image. Throws `region-outside-frame`. */
export function regionInside(region: Region, { file, image }: { file: string; image: GreyImage }): Region {
  try {
    return requireRegion('region', region, image);
  } catch (cause) {
    throw new FocuswrightError(
      'region-outside-frame',
      { file, region: regionInWords(region), frame: `${image.widthPx} × ${image.heightPx} px` },
      { cause },
    );
  }
}

function planeOf(image: GreyImage, file: string, bayer: BayerChoice | undefined): GreyImage {
  if (bayer === undefined) return image;
  const { widthPx, heightPx } = image;
  if (Math.min(widthPx, heightPx) < 2) {
    throw new FocuswrightError('image-unreadable', {
      file,
      met: `${widthPx} × ${heightPx} px, too small for a Bayer mosaic`,
    });
  }
  return bayerPlane({ image, ...bayer });
}

const aboutFile = (file: string, bytes: Buffer): ReadImage => ({
  file,
  sha256: createHash('sha256').update(bytes).digest('hex'),
  pageCount: imagePageCount(bytes, file),
});

async function readImageBytes(file: string): Promise<Buffer> {
  try {
    const found = await stat(file);
    if (!found.isFile()) throw new FocuswrightError('image-unreadable', { file, met: 'a folder or a device, no file' });
    if (found.size > largestFileBytes) {
      throw new FocuswrightError('image-too-large', { file, bytes: found.size, limit: `${largestFileBytes} bytes` });
    }
    return await readFile(file);
  } catch (cause) {
    if (cause instanceof FocuswrightError) throw cause;
    throw new FocuswrightError(
      'image-unreadable',
      { file, met: systemReason(cause) },
      { cause, remedy: 'Check the path and the read permission.' },
    );
  }
}
