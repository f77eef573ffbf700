import { type GreyImage, greyRange } from '../../image/index.js';

/** A frame as the page shows it: at most so wide, stretched between its darkest and brightest half per cent. */
export interface Preview {
  widthPx: number;
  heightPx: number;
  /** Red, green, blue, opacity of each pixel. */
  rgba: Uint8ClampedArray<ArrayBuffer>;
  lowDn: number;
  highDn: number;
}

const widestPx = 1600;

/** The picture of a frame to look at, not to measure: means of whole blocks of pixels. */
export function previewOf(image: GreyImage): Preview {
  const factor = Math.max(1, Math.ceil(Math.max(image.widthPx, image.heightPx) / widestPx));
  const widthPx = Math.max(1, Math.floor(image.widthPx / factor));
  const heightPx = Math.max(1, Math.floor(image.heightPx / factor));
  const [acrossPx, downPx] = [Math.min(factor, image.widthPx), Math.min(factor, image.heightPx)];
  const { lowDn, highDn } = greyRange(image);
  const rgba = new Uint8ClampedArray(widthPx * heightPx * 4).fill(255);
  const toByte = 255 / (highDn - lowDn);
  for (let row = 0; row < heightPx; row++) {
    for (let column = 0; column < widthPx; column++) {
      let sum = 0;
      for (let y = 0; y < downPx; y++) {
        const start = (row * factor + y) * image.widthPx + column * factor;
        for (let x = 0; x < acrossPx; x++) sum += image.data[start + x]!;
      }
      const grey = (sum / (acrossPx * downPx) - lowDn) * toByte;
      const at = 4 * (row * widthPx + column);
      rgba[at] = grey;
      rgba[at + 1] = grey;
      rgba[at + 2] = grey;
    }
  }
  return { widthPx, heightPx, rgba, lowDn, highDn };
}
