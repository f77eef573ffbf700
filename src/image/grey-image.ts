import { requireInteger } from '../base/index.js';

/** One monochrome frame: linear grey values (DN), row by row. Pixel centres at integers, origin top left, y down. */
export interface GreyImage {
  widthPx: number;
  heightPx: number;
  /** 8 … 16. The largest grey value is 2^bitDepth − 1, also where the data sit in 16-bit containers. */
  bitDepth: number;
  /** Row-major, widthPx · heightPx values. */
  data: Uint8Array | Uint16Array;
}

/** A rectangle of whole pixels; its first pixel is (xPx, yPx). */
export interface Region {
  xPx: number;
  yPx: number;
  widthPx: number;
  heightPx: number;
}

/** The largest grey value the image can hold, in DN. */
export const maxGreyValueDn = (image: GreyImage): number => 2 ** image.bitDepth - 1;

/** The region that is the whole frame. */
export const wholeFrame = (image: GreyImage): Region => ({
  xPx: 0,
  yPx: 0,
  widthPx: image.widthPx,
  heightPx: image.heightPx,
});

/** Checks size, bit depth and length of the data. Throws RangeError naming the field. Does not look at every value. */
export function requireGreyImage(name: string, image: GreyImage): GreyImage {
  requireInteger(`${name}.widthPx`, image.widthPx, { min: 1, unit: 'px' });
  requireInteger(`${name}.heightPx`, image.heightPx, { min: 1, unit: 'px' });
  requireInteger(`${name}.bitDepth`, image.bitDepth, { min: 8, max: 16, unit: 'bit' });
  if (!(image.data instanceof Uint8Array) && !(image.data instanceof Uint16Array)) {
    throw new TypeError(`${name}.data is ${typeName(image.data)}; allowed: Uint8Array or Uint16Array`);
  }
  if (image.data instanceof Uint8Array && image.bitDepth > 8) {
    throw new RangeError(`${name}.data is a Uint8Array with a bit depth of ${image.bitDepth}; allowed: Uint16Array`);
  }
  if (image.data.length !== image.widthPx * image.heightPx) {
    const wanted = `${image.widthPx} × ${image.heightPx} = ${image.widthPx * image.heightPx}`;
    throw new RangeError(`${name}.data holds ${image.data.length} values; allowed: ${wanted}`);
  }
  return image;
}

/** Checks that a region is whole pixels inside the frame. Throws RangeError with the frame's size. */
export function requireRegion(name: string, region: Region, image: GreyImage): Region {
  requireInteger(`${name}.xPx`, region.xPx, { min: 0, unit: 'px' });
  requireInteger(`${name}.yPx`, region.yPx, { min: 0, unit: 'px' });
  requireInteger(`${name}.widthPx`, region.widthPx, { min: 1, unit: 'px' });
  requireInteger(`${name}.heightPx`, region.heightPx, { min: 1, unit: 'px' });
  if (region.xPx + region.widthPx > image.widthPx || region.yPx + region.heightPx > image.heightPx) {
    throw new RangeError(
      `${name} is ${regionInWords(region)}; allowed: inside the frame of ${image.widthPx} × ${image.heightPx} px`,
    );
  }
  return region;
}

/** A region as a reader writes it, e.g. "120 × 80 px at (40, 10)". */
export const regionInWords = (region: Region): string =>
  `${region.widthPx} × ${region.heightPx} px at (${region.xPx}, ${region.yPx})`;

const typeName = (value: unknown): string =>
  value === null || value === undefined ? String(value) : ((value as object).constructor?.name ?? typeof value);
