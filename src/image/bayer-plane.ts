import { type GreyImage, requireGreyImage } from './grey-image.js';

/** Colours of the first two pixels of the first row (GenICam names). */
export type BayerPattern = 'RG' | 'GR' | 'GB' | 'BG';

/** One of the four pixels of a Bayer cell; the greens by the row they stand in. */
export type BayerColour = 'red' | 'green-red' | 'green-blue' | 'blue';

export const bayerPatterns: readonly BayerPattern[] = ['RG', 'GR', 'GB', 'BG'];
export const bayerColours: readonly BayerColour[] = ['red', 'green-red', 'green-blue', 'blue'];

/** Where each colour stands in the 2 × 2 cell: column, row. */
const places: Record<BayerPattern, Record<BayerColour, readonly [number, number]>> = {
  RG: { red: [0, 0], 'green-red': [1, 0], 'green-blue': [0, 1], blue: [1, 1] },
  GR: { 'green-red': [0, 0], red: [1, 0], blue: [0, 1], 'green-blue': [1, 1] },
  GB: { 'green-blue': [0, 0], blue: [1, 0], red: [0, 1], 'green-red': [1, 1] },
  BG: { blue: [0, 0], 'green-blue': [1, 0], 'green-red': [0, 1], red: [1, 1] },
};

/**
 * One colour of a Bayer mosaic as a picture of its own: every second pixel of every second row, nothing interpolated.
 *
 * Input    a raw mosaic of at least 2 × 2 px; an odd last column or row is used where the colour stands there
 * Returns  half as wide and high; the pixel pitch is twice the sensor's
 * Throws   RangeError for an unknown pattern or colour, or a mosaic of one row or column.
 * Trust    a picture that a camera has already demosaiced looks like a mosaic, but is none.
 * Checked  closed form: each colour of each pattern, tests/image/pixel-formats.test.ts
 */
export function bayerPlane({
  image,
  pattern,
  colour,
}: {
  image: GreyImage;
  pattern: BayerPattern;
  colour: BayerColour;
}): GreyImage {
  requireGreyImage('image', image);
  if (!bayerPatterns.includes(pattern)) {
    throw new RangeError(`pattern is ${String(pattern)}; allowed: ${bayerPatterns.join(', ')}`);
  }
  if (!bayerColours.includes(colour)) {
    throw new RangeError(`colour is ${String(colour)}; allowed: ${bayerColours.join(', ')}`);
  }
  if (Math.min(image.widthPx, image.heightPx) < 2) {
    throw new RangeError(`image is ${image.widthPx} × ${image.heightPx} px; allowed: at least 2 × 2 px for a mosaic`);
  }
  const [column, row] = places[pattern][colour];
  const widthPx = (image.widthPx - column + 1) >> 1;
  const heightPx = (image.heightPx - row + 1) >> 1;
  const data =
    image.data instanceof Uint8Array ? new Uint8Array(widthPx * heightPx) : new Uint16Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y++) {
    const start = (2 * y + row) * image.widthPx + column;
    for (let x = 0; x < widthPx; x++) data[y * widthPx + x] = image.data[start + 2 * x]!;
  }
  return { widthPx, heightPx, bitDepth: image.bitDepth, data };
}
