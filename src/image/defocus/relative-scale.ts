import type { GreyImage, Region } from '../grey-image.js';

/** How much larger one picture of a scene is than another. */
export interface RelativeScale {
  /** 1: as large. */
  scaleRatio: number;
  /** Its uncertainty, 1σ, by the fit's own scatter. */
  scaleStd: number;
}

/** Side of the small pictures that are compared. */
const smallSidePx = 32;
const rounds = 8;
/** Columns of the fit: level, gain, shift across, shift down, growth, blur. */
const unknowns = 6;
/** A scale farther from 1 is a mistake. */
const mostChange = 0.3;
const settled = 1e-5;

/**
 * Change of size between two pictures of a scene, of which one may be blurred more: focus breathing.
 *
 * Model    both brought down to 32 × 32 px and smoothed; second ≈ level + gain·first(shifted, grown) + blur·∇²first, by least
 *          squares, a few rounds
 * Input    `expectedRatio`: where to begin; default 1.
 * Returns  null where the scene tells nothing: no texture, or a change beyond ± 30 %.
 * Trust    about 0.2 % on textured regions of 256 px; a scene of one direction alone (stripes) tells only across them.
 * Source   gradient-based registration (Lucas & Kanade 1981), from memory; the blur term is derived here
 * Checked  recovery: waves grown, shifted and blurred in closed form, tests/image/defocus/relative-scale.test.ts
 */
export function relativeScale({
  first,
  second,
  region,
  expectedRatio = 1,
}: {
  first: GreyImage;
  second: GreyImage;
  region: Region;
  expectedRatio?: number;
}): RelativeScale | null {
  const [one, two] = [smallPicture(first, region), smallPicture(second, region)];
  const place = { growth: Math.log(expectedRatio), across: 0, down: 0 };
  let scatter = 0;
  for (let round = 0; round < rounds; round++) {
    const moved = drawnBack(two, place);
    const fit = leastSquares(one, moved);
    if (fit === null) return null;
    place.growth += fit.growth;
    place.across += fit.across;
    place.down += fit.down;
    scatter = fit.growthStd;
    if (Math.abs(place.growth) > mostChange) return null;
    if (Math.abs(fit.growth) < settled) break;
  }
  return { scaleRatio: Math.exp(place.growth), scaleStd: scatter };
}

interface SmallPicture {
  values: Float64Array;
  widthPx: number;
  heightPx: number;
}

/** Means of blocks, smoothed twice by (1 2 1)/4 each way. */
function smallPicture(image: GreyImage, region: Region): SmallPicture {
  const widthPx = smallSidePx;
  const heightPx = smallSidePx;
  const [blockX, blockY] = [region.widthPx / widthPx, region.heightPx / heightPx];
  let values = new Float64Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y++) {
    const [top, bottom] = [Math.floor(y * blockY), Math.floor((y + 1) * blockY)];
    for (let x = 0; x < widthPx; x++) {
      const [left, right] = [Math.floor(x * blockX), Math.floor((x + 1) * blockX)];
      let sum = 0;
      for (let row = top; row < bottom; row++) {
        const from = (region.yPx + row) * image.widthPx + region.xPx;
        for (let column = left; column < right; column++) sum += image.data[from + column]!;
      }
      values[y * widthPx + x] = sum / ((bottom - top) * (right - left));
    }
  }
  for (let pass = 0; pass < 2; pass++) values = smoothed(values, widthPx, heightPx);
  return { values, widthPx, heightPx };
}

function smoothed(values: Float64Array, widthPx: number, heightPx: number): Float64Array<ArrayBuffer> {
  const across = new Float64Array(values.length);
  const held = (i: number, most: number): number => Math.max(0, Math.min(most - 1, i));
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const at = y * widthPx;
      across[at + x] =
        (values[at + held(x - 1, widthPx)]! + 2 * values[at + x]! + values[at + held(x + 1, widthPx)]!) / 4;
    }
  }
  const both = new Float64Array(values.length);
  for (let y = 0; y < heightPx; y++) {
    const [up, down] = [held(y - 1, heightPx) * widthPx, held(y + 1, heightPx) * widthPx];
    for (let x = 0; x < widthPx; x++)
      both[y * widthPx + x] = (across[up + x]! + 2 * across[y * widthPx + x]! + across[down + x]!) / 4;
  }
  return both;
}

/** A picture with a growth and shift taken back, by bilinear interpolation. */
function drawnBack(
  { values, widthPx, heightPx }: SmallPicture,
  { growth, across, down }: { growth: number; across: number; down: number },
): SmallPicture {
  const scale = Math.exp(growth);
  const [middleX, middleY] = [(widthPx - 1) / 2, (heightPx - 1) / 2];
  const moved = new Float64Array(values.length);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const fromX = Math.max(0, Math.min(widthPx - 1.001, middleX + scale * (x - middleX) + across));
      const fromY = Math.max(0, Math.min(heightPx - 1.001, middleY + scale * (y - middleY) + down));
      const [left, top] = [Math.floor(fromX), Math.floor(fromY)];
      const [u, v] = [fromX - left, fromY - top];
      const at = top * widthPx + left;
      moved[y * widthPx + x] =
        (1 - v) * ((1 - u) * values[at]! + u * values[at + 1]!) +
        v * ((1 - u) * values[at + widthPx]! + u * values[at + widthPx + 1]!);
    }
  }
  return { values: moved, widthPx, heightPx };
}

const marginPx = 3;

/** One linear step; null where the picture tells nothing. */
function leastSquares(
  { values: one, widthPx, heightPx }: SmallPicture,
  { values: two }: SmallPicture,
): { growth: number; across: number; down: number; growthStd: number } | null {
  const normal = new Float64Array(unknowns * (unknowns + 1));
  const row = new Float64Array(unknowns + 1);
  let count = 0;
  let square = 0;
  const [middleX, middleY] = [(widthPx - 1) / 2, (heightPx - 1) / 2];
  for (let y = marginPx; y < heightPx - marginPx; y++) {
    for (let x = marginPx; x < widthPx - marginPx; x++) {
      const at = y * widthPx + x;
      // Slopes of both pictures' mean, so that neither side is favoured.
      const slope = (step: number) => (one[at + step]! - one[at - step]! + two[at + step]! - two[at - step]!) / 4;
      const [slopeX, slopeY] = [slope(1), slope(widthPx)];
      const bend = (p: Float64Array) => p[at - 1]! + p[at + 1]! + p[at - widthPx]! + p[at + widthPx]! - 4 * p[at]!;
      row[0] = 1;
      row[1] = one[at]!;
      row[2] = slopeX;
      row[3] = slopeY;
      row[4] = (x - middleX) * slopeX + (y - middleY) * slopeY;
      row[5] = bend(one) + bend(two);
      row[6] = two[at]! - one[at]!;
      for (let i = 0; i < unknowns; i++) {
        for (let j = i; j <= unknowns; j++) normal[i * (unknowns + 1) + j]! += row[i]! * row[j]!;
      }
      square += row[6]! * row[6]!;
      count++;
    }
  }
  const solved = solvedNormal(normal);
  if (solved === null) return null;
  const { values, inverseDiagonal } = solved;
  let explained = 0;
  for (let i = 0; i < unknowns; i++) explained += values[i]! * normal[i * (unknowns + 1) + unknowns]!;
  const variance = Math.max(0, square - explained) / (count - unknowns);
  // The second picture grown by g shows at x what the first shows at x·(1 − g).
  return {
    growth: -values[4]!,
    across: -values[2]!,
    down: -values[3]!,
    growthStd: Math.sqrt(variance * inverseDiagonal[4]!),
  };
}

const leastPivot = 1e-9;

/** Gauss–Jordan on the upper triangle of normal equations, with the diagonal of their inverse. */
function solvedNormal(normal: Float64Array): { values: Float64Array; inverseDiagonal: Float64Array } | null {
  const n = unknowns;
  const width = 2 * n + 1;
  const matrix = new Float64Array(n * width);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) matrix[i * width + j] = normal[Math.min(i, j) * (n + 1) + Math.max(i, j)]!;
    matrix[i * width + n] = normal[i * (n + 1) + n]!;
    matrix[i * width + n + 1 + i] = 1;
  }
  for (let pivot = 0; pivot < n; pivot++) {
    const value = matrix[pivot * width + pivot]!;
    if (!(Math.abs(value) > leastPivot * normal[pivot * (n + 1) + pivot]!) || value === 0) return null;
    for (let j = 0; j < width; j++) matrix[pivot * width + j]! /= value;
    for (let i = 0; i < n; i++) {
      if (i === pivot) continue;
      const factor = matrix[i * width + pivot]!;
      for (let j = 0; j < width; j++) matrix[i * width + j]! -= factor * matrix[pivot * width + j]!;
    }
  }
  return {
    values: Float64Array.from({ length: n }, (_, i) => matrix[i * width + n]!),
    inverseDiagonal: Float64Array.from({ length: n }, (_, i) => matrix[i * width + n + 1 + i]!),
  };
}
