import { type GreyImage, type Region, requireGreyImage, requireRegion } from './grey-image.js';

/**
 * The part of a frame inside a region, as a frame of its own (data copied).
 *
 * Throws   RangeError if the region leaves the frame.
 * Checked  property: a cropped pixel equals the pixel at the same place in the frame
 */
export function cropImage({ image, region }: { image: GreyImage; region: Region }): GreyImage {
  requireGreyImage('image', image);
  requireRegion('region', region, image);
  const { xPx, yPx, widthPx, heightPx } = region;
  const data =
    image.data instanceof Uint8Array ? new Uint8Array(widthPx * heightPx) : new Uint16Array(widthPx * heightPx);
  for (let row = 0; row < heightPx; row++) {
    const start = (yPx + row) * image.widthPx + xPx;
    data.set(image.data.subarray(start, start + widthPx), row * widthPx);
  }
  return { widthPx, heightPx, bitDepth: image.bitDepth, data };
}
