import { requireInteger } from '../../base/index.js';

/** Fourier transform of real pictures of one size; holds its tables and work space, so it is made once for many frames. */
export interface RegionTransform {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Horizontal frequencies kept, 0 … width/2: the others are conjugates. */
  readonly columns: number;
  /**
   * Reads `pixels` row by row. Writes the coefficients column by column (index column · height + row), not normalised,
   * into arrays of columns · height values that the next call uses again.
   */
  transform(pixels: Float64Array): { re: Float64Array; im: Float64Array };
}

const leastSidePx = 16;
const mostSidePx = 2048;

/**
 * Two-dimensional Fourier transform of a real picture.
 *
 * Formula  F(u, v) = Σ Σ p(x, y)·exp(−2πi·(u·x/width + v·y/height))
 * Input    sides that are powers of two, 16 … 2048.
 * Throws   RangeError naming the side.
 * Cost     256 × 256: about 1.3 ms; two rows go through one complex transform.
 * Checked  closed form: direct sum; property: Parseval, tests/image/defocus/region-transform.test.ts
 */
export function regionTransform({ widthPx, heightPx }: { widthPx: number; heightPx: number }): RegionTransform {
  const across = planOf('widthPx', widthPx);
  const down = planOf('heightPx', heightPx);
  const columns = widthPx / 2 + 1;
  const rowRe = new Float64Array(widthPx);
  const rowIm = new Float64Array(widthPx);
  const re = new Float64Array(columns * heightPx);
  const im = new Float64Array(columns * heightPx);
  return {
    widthPx,
    heightPx,
    columns,
    transform(pixels) {
      for (let y = 0; y < heightPx; y += 2) {
        const start = y * widthPx;
        for (let x = 0; x < widthPx; x++) {
          const to = across.reversed[x]!;
          rowRe[to] = pixels[start + x]!;
          rowIm[to] = pixels[start + widthPx + x]!;
        }
        butterflies(across, rowRe, rowIm, 0);
        for (let u = 0; u < columns; u++) {
          const mirrored = u === 0 ? 0 : widthPx - u;
          const at = u * heightPx;
          const first = at + down.reversed[y]!;
          const second = at + down.reversed[y + 1]!;
          re[first] = (rowRe[u]! + rowRe[mirrored]!) / 2;
          im[first] = (rowIm[u]! - rowIm[mirrored]!) / 2;
          re[second] = (rowIm[u]! + rowIm[mirrored]!) / 2;
          im[second] = (rowRe[mirrored]! - rowRe[u]!) / 2;
        }
      }
      for (let u = 0; u < columns; u++) butterflies(down, re, im, u * heightPx);
      return { re, im };
    },
  };
}

interface Plan {
  length: number;
  reversed: Uint32Array;
  cos: Float64Array;
  sin: Float64Array;
}

/** A side that can be transformed. Throws RangeError naming it. */
export function requireTransformSide(name: string, sidePx: number): void {
  requireInteger(name, sidePx, { min: leastSidePx, max: mostSidePx, unit: 'px' });
  if (!Number.isInteger(Math.log2(sidePx))) throw new RangeError(`${name} is ${sidePx} px; allowed: a power of two`);
}

function planOf(name: string, length: number): Plan {
  requireTransformSide(name, length);
  const bits = Math.log2(length);
  const reversed = Uint32Array.from({ length }, (_, i) => {
    let turned = 0;
    for (let bit = 0; bit < bits; bit++) turned |= ((i >> bit) & 1) << (bits - 1 - bit);
    return turned;
  });
  const angles = Float64Array.from({ length: length / 2 }, (_, k) => (2 * Math.PI * k) / length);
  return { length, reversed, cos: angles.map(Math.cos), sin: angles.map((angle) => -Math.sin(angle)) };
}

/** Radix 2 in place on values that already lie in bit-reversed order; the first two rounds have no products. */
function butterflies({ length, cos, sin }: Plan, re: Float64Array, im: Float64Array, offset: number): void {
  const end = offset + length;
  for (let a = offset; a < end; a += 4) {
    const sumRe = re[a]! + re[a + 1]!;
    const sumIm = im[a]! + im[a + 1]!;
    const lessRe = re[a]! - re[a + 1]!;
    const lessIm = im[a]! - im[a + 1]!;
    const nextRe = re[a + 2]! + re[a + 3]!;
    const nextIm = im[a + 2]! + im[a + 3]!;
    const turnRe = im[a + 2]! - im[a + 3]!;
    const turnIm = re[a + 3]! - re[a + 2]!;
    re[a] = sumRe + nextRe;
    im[a] = sumIm + nextIm;
    re[a + 1] = lessRe + turnRe;
    im[a + 1] = lessIm + turnIm;
    re[a + 2] = sumRe - nextRe;
    im[a + 2] = sumIm - nextIm;
    re[a + 3] = lessRe - turnRe;
    im[a + 3] = lessIm - turnIm;
  }
  for (let half = 4; half < length; half <<= 1) {
    const stride = length / (2 * half);
    for (let start = offset; start < end; start += 2 * half) {
      for (let k = 0, turn = 0; k < half; k++, turn += stride) {
        const a = start + k;
        const b = a + half;
        const x = re[b]! * cos[turn]! - im[b]! * sin[turn]!;
        const y = re[b]! * sin[turn]! + im[b]! * cos[turn]!;
        re[b] = re[a]! - x;
        im[b] = im[a]! - y;
        re[a] = re[a]! + x;
        im[a] = im[a]! + y;
      }
    }
  }
}
