import type { GreyImage, Region } from '../grey-image.js';

/** Names of the integer sums that the focus measures are made of. */
export type FocusSum =
  | 'laplacian'
  | 'laplacian-squares'
  | 'sobel-squares'
  | 'forward-squares'
  | 'two-apart-x-squares'
  | 'two-apart-y-squares'
  | 'second-differences'
  | 'lag-products'
  | 'values'
  | 'value-squares'
  | 'haar-details'
  | 'dct-ratios';

/** Pixels at each side of the region that have no term, as their neighbours would lie outside. */
export interface SumMargins {
  leftPx: number;
  topPx: number;
  rightPx: number;
  bottomPx: number;
}

type Pixels = Uint8Array | Uint16Array;

const all: SumMargins = { leftPx: 0, topPx: 0, rightPx: 0, bottomPx: 0 };
const interior: SumMargins = { leftPx: 1, topPx: 1, rightPx: 1, bottomPx: 1 };

const laplacian = (data: Pixels, i: number, w: number): number =>
  data[i - 1]! + data[i + 1]! + data[i - w]! + data[i + w]! - 4 * data[i]!;

/** 1 2 1 along a step. */
const smooth = (data: Pixels, i: number, step: number): number => data[i - step]! + 2 * data[i]! + data[i + step]!;

/** What one step of the sum of DCT ratios stands for: fine enough for any use, and sums stay whole numbers. */
export const dctRatioUnit = 2 ** -36;

function dctRatio(data: Pixels, i: number, w: number): number {
  let sum = 0;
  let squares = 0;
  for (let row = 0; row < 8; row++) {
    for (let k = i + row * w; k < i + row * w + 8; k++) {
      sum += data[k]!;
      squares += data[k]! ** 2;
    }
  }
  return sum === 0 ? 0 : Math.floor((64 * squares - sum * sum) / (sum * sum) / dctRatioUnit);
}

/** Each sum: where it has terms, and the term of the pixel at index i of data with rows of w pixels. */
export const focusSumTerms: Record<
  FocusSum,
  {
    margins: SumMargins;
    /** Terms are of whole blocks of so many pixels each way, counted from the region's corner; 1 where it is not said. */
    blockPx?: number;
    term: (data: Pixels, i: number, w: number) => number;
  }
> = {
  laplacian: { margins: interior, term: laplacian },
  'laplacian-squares': { margins: interior, term: (data, i, w) => laplacian(data, i, w) ** 2 },
  'sobel-squares': {
    margins: interior,
    term: (data, i, w) =>
      (smooth(data, i + 1, w) - smooth(data, i - 1, w)) ** 2 + (smooth(data, i + w, 1) - smooth(data, i - w, 1)) ** 2,
  },
  'forward-squares': {
    margins: { ...all, rightPx: 1, bottomPx: 1 },
    term: (data, i, w) => (data[i + 1]! - data[i]!) ** 2 + (data[i + w]! - data[i]!) ** 2,
  },
  'two-apart-x-squares': { margins: { ...all, rightPx: 2 }, term: (data, i) => (data[i + 2]! - data[i]!) ** 2 },
  'two-apart-y-squares': {
    margins: { ...all, bottomPx: 2 },
    term: (data, i, w) => (data[i + 2 * w]! - data[i]!) ** 2,
  },
  'second-differences': {
    margins: interior,
    term: (data, i, w) =>
      Math.abs(2 * data[i]! - data[i - 1]! - data[i + 1]!) + Math.abs(2 * data[i]! - data[i - w]! - data[i + w]!),
  },
  'lag-products': { margins: { ...all, rightPx: 2 }, term: (data, i) => data[i]! * (data[i + 1]! - data[i + 2]!) },
  values: { margins: all, term: (data, i) => data[i]! },
  'value-squares': { margins: all, term: (data, i) => data[i]! ** 2 },
  // Four times the energy of a block's details.
  'haar-details': {
    margins: all,
    blockPx: 2,
    term: (data, i, w) => {
      const [a, b, c, d] = [data[i]!, data[i + 1]!, data[i + w]!, data[i + w + 1]!];
      return (a + b - c - d) ** 2 + (a - b + c - d) ** 2 + (a - b - c + d) ** 2;
    },
  },
  // Energy of a block's AC over its DC coefficients, rounded down to dctRatioUnit.
  'dct-ratios': { margins: all, blockPx: 8, term: dctRatio },
};

/**
 * Integer sums over a region: the readable version, one pixel after the other. focusSumsFast gives the same numbers.
 *
 * Formula  Σ term over the region without its margins, as focusSumTerms says
 * Returns  exact sums, in the order of `names`
 * Cost     some 5 ns a pixel and sum
 * Checked  reference: 8 × 8 check image (numpy); OpenCV's Laplacian and Sobel, tests/image/focus-sums.test.ts
 */
export function focusSums(image: GreyImage, region: Region, names: readonly FocusSum[]): bigint[] {
  const { data, widthPx: w } = image;
  return names.map((name) => {
    const { margins, blockPx = 1, term } = focusSumTerms[name];
    const rows = wholeBlocks(region.heightPx - margins.topPx - margins.bottomPx, blockPx);
    const columns = wholeBlocks(region.widthPx - margins.leftPx - margins.rightPx, blockPx);
    const top = region.yPx + margins.topPx;
    let total = 0n;
    for (let y = top; y < top + rows; y += blockPx) {
      const start = y * w + region.xPx + margins.leftPx;
      let row = 0; // a row's sum stays below 2⁵³, where doubles are exact
      for (let i = start; i < start + columns; i += blockPx) row += term(data, i, w);
      total += BigInt(row);
    }
    return total;
  });
}

/** The largest number of pixels that is whole blocks. */
export const wholeBlocks = (px: number, blockPx: number): number => Math.max(0, px - (px % blockPx));
