import { type GreyImage, requireGreyImage } from '../grey-image.js';

/** Octave bands: their centres lie at 1/4, 1/8 and 1/16 cycle per pixel. */
export const bandCount = 3;

/** What a frame gives for the through-focus curves of its blocks. */
export interface BandEnergies {
  columns: number;
  rows: number;
  blockPx: number;
  /** One map per band: mean squared band signal of each block, in DN². */
  energies: Float32Array[];
  /** Mean grey value of each block. */
  meansDn: Float32Array;
  /** Largest grey value of each block. */
  topsDn: Float32Array;
}

/**
 * Energies of a frame in three octave bands, block by block.
 *
 * Model    band 0 = 4-neighbour Laplacian of the frame smoothed by (1 2 1)⊗(1 2 1)/16; each further band the same on
 *          the smoothed frame at half its size
 * Formula  mean over the block of (4 S − S(x±1) − S(y±1))²; along an axis the response is sin²(2πf), largest at f = 1/4
 * Input    8 … 16 bit grey; `blockPx` a multiple of 8. Columns and rows beyond the last whole block are left out.
 * Trust    the outermost two samples of each band count as zero: blocks at the rim are low.
 * Checked  property: equal to bandEnergiesFast, tests/image/stack/band-energies.test.ts
 */
export function bandEnergies({ image, blockPx }: { image: GreyImage; blockPx: number }): BandEnergies {
  requireGreyImage('image', image);
  const columns = Math.floor(image.widthPx / blockPx);
  const rows = Math.floor(image.heightPx / blockPx);
  let level = cropped(image, columns * blockPx, rows * blockPx);
  const meansDn = new Float32Array(columns * rows);
  const topsDn = new Float32Array(columns * rows);
  for (let y = 0; y < level.heightPx; y++) {
    for (let x = 0; x < level.widthPx; x++) {
      const block = Math.floor(y / blockPx) * columns + Math.floor(x / blockPx);
      const value = level.data[y * level.widthPx + x]!;
      meansDn[block] = meansDn[block]! + value / blockPx ** 2;
      topsDn[block] = Math.max(topsDn[block]!, value);
    }
  }
  const energies: Float32Array[] = [];
  for (let band = 0; band < bandCount; band++) {
    const { smooth, next } = smoothed(level);
    energies.push(laplacianEnergies(smooth, blockPx >> band, columns, rows));
    level = next;
  }
  return { columns, rows, blockPx, energies, meansDn, topsDn };
}

/** A picture of real numbers. */
export interface Plane {
  widthPx: number;
  heightPx: number;
  data: Float64Array;
}

function cropped(image: GreyImage, widthPx: number, heightPx: number): Plane {
  const data = new Float64Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) data[y * widthPx + x] = image.data[y * image.widthPx + x]!;
  }
  return { widthPx, heightPx, data };
}

/** (1 2 1)⊗(1 2 1)/16 with the rim repeated, and its means over 2 × 2. */
export function smoothed({ widthPx, heightPx, data }: Plane): { smooth: Plane; next: Plane } {
  const at = (x: number, y: number) =>
    data[Math.min(Math.max(y, 0), heightPx - 1) * widthPx + Math.min(Math.max(x, 0), widthPx - 1)]!;
  const smooth: Plane = { widthPx, heightPx, data: new Float64Array(widthPx * heightPx) };
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      let sum = 0;
      for (let dy = -1; dy <= 1; dy++) {
        for (let dx = -1; dx <= 1; dx++) sum += (2 - Math.abs(dx)) * (2 - Math.abs(dy)) * at(x + dx, y + dy);
      }
      smooth.data[y * widthPx + x] = sum / 16;
    }
  }
  const next: Plane = {
    widthPx: widthPx >> 1,
    heightPx: heightPx >> 1,
    data: new Float64Array((widthPx >> 1) * (heightPx >> 1)),
  };
  for (let y = 0; y < next.heightPx; y++) {
    for (let x = 0; x < next.widthPx; x++) {
      const upper = 2 * y * widthPx + 2 * x;
      const s = smooth.data;
      next.data[y * next.widthPx + x] = (s[upper]! + s[upper + 1]! + s[upper + widthPx]! + s[upper + widthPx + 1]!) / 4;
    }
  }
  return { smooth, next };
}

function laplacianEnergies(smooth: Plane, blockPx: number, columns: number, rows: number): Float32Array {
  const { widthPx, heightPx, data } = smooth;
  const energies = new Float32Array(columns * rows);
  for (let y = 2; y < heightPx - 2; y++) {
    for (let x = 2; x < widthPx - 2; x++) {
      const at = y * widthPx + x;
      const laplacian = 4 * data[at]! - data[at - 1]! - data[at + 1]! - data[at - widthPx]! - data[at + widthPx]!;
      const block = Math.floor(y / blockPx) * columns + Math.floor(x / blockPx);
      energies[block] = energies[block]! + laplacian ** 2 / blockPx ** 2;
    }
  }
  return energies;
}
