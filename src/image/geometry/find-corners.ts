import { choleskyFactor, choleskySolve } from '../../base/index.js';
import type { GreyImage } from '../grey-image.js';
import type { GridPoint } from './lattice.js';

/** Blur before corners are looked for, standard deviation. */
const blurPx = 1.5;
const peakReachPx = 4;
/** Half side of the window that the saddle is fitted in. */
const saddleReachPx = 4;
const ringPx = 6;

/**
 * Inner corners of a checkerboard: the saddle points of its grey values.
 *
 * Model    after a Gaussian blur of 1.5 px: maxima of Ixy² − Ixx·Iyy; a quadric fitted to the 9 × 9 px around gives the
 *          saddle; around it a ring must be bright, dark, bright, dark
 * Trust    squares under 12 px, or blur beyond a quarter of a square, merge neighbouring saddles.
 * Checked  reference: boards rendered by numpy, beside OpenCV's cornerSubPix, tests/image/geometry/grid-target.test.ts
 */
export function findCorners(image: GreyImage): GridPoint[] {
  const { widthPx, heightPx } = image;
  const smooth = blurred(image);
  const response = new Float32Array(smooth.length);
  const at = (x: number, y: number) => smooth[y * widthPx + x]!;
  for (let y = 2; y < heightPx - 2; y++) {
    for (let x = 2; x < widthPx - 2; x++) {
      const xx = at(x + 1, y) - 2 * at(x, y) + at(x - 1, y);
      const yy = at(x, y + 1) - 2 * at(x, y) + at(x, y - 1);
      const xy = (at(x + 1, y + 1) - at(x - 1, y + 1) - at(x + 1, y - 1) + at(x - 1, y - 1)) / 4;
      response[y * widthPx + x] = xy * xy - xx * yy;
    }
  }
  const peaks: { x: number; y: number; value: number }[] = [];
  const margin = ringPx + 2;
  for (let y = margin; y < heightPx - margin; y++) {
    for (let x = margin; x < widthPx - margin; x++) {
      const value = response[y * widthPx + x]!;
      if (value > 0 && isPeak(response, widthPx, x, y, value)) peaks.push({ x, y, value });
    }
  }
  const strongest = peaks.map(({ value }) => value).sort((a, b) => b - a)[Math.min(peaks.length - 1, 10)] ?? 0;
  return peaks
    .filter(({ value }) => value > 0.08 * strongest)
    .flatMap(({ x, y }) => {
      const point = saddle(smooth, widthPx, heightPx, x, y);
      return point !== null && alternates(smooth, widthPx, heightPx, point) ? [point] : [];
    });
}

function blurred({ widthPx, heightPx, data }: GreyImage): Float32Array {
  const reach = Math.ceil(3 * blurPx);
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-((i - reach) ** 2) / (2 * blurPx ** 2)));
  const total = kernel.reduce((a, b) => a + b);
  const across = new Float32Array(data.length);
  const clamp = (v: number, count: number) => Math.min(Math.max(v, 0), count - 1);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      let sum = 0;
      for (let k = -reach; k <= reach; k++) sum += kernel[k + reach]! * data[y * widthPx + clamp(x + k, widthPx)]!;
      across[y * widthPx + x] = sum / total;
    }
  }
  const smooth = new Float32Array(data.length);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      let sum = 0;
      for (let k = -reach; k <= reach; k++) sum += kernel[k + reach]! * across[clamp(y + k, heightPx) * widthPx + x]!;
      smooth[y * widthPx + x] = sum / total;
    }
  }
  return smooth;
}

function isPeak(response: Float32Array, widthPx: number, x: number, y: number, value: number): boolean {
  for (let dy = -peakReachPx; dy <= peakReachPx; dy++) {
    for (let dx = -peakReachPx; dx <= peakReachPx; dx++) {
      const other = response[(y + dy) * widthPx + x + dx]!;
      if (other > value || (other === value && (dy < 0 || (dy === 0 && dx < 0)))) return false;
    }
  }
  return true;
}

/** Where the quadric a·x² + b·xy + c·y² + d·x + e·y + f has no slope; null where it is no saddle, or lies far off. */
function saddle(smooth: Float32Array, widthPx: number, heightPx: number, x: number, y: number): GridPoint | null {
  let [cx, cy] = [x, y];
  for (let pass = 0; pass < 4; pass++) {
    const [x0, y0] = [Math.round(cx), Math.round(cy)];
    if (x0 < saddleReachPx || y0 < saddleReachPx || x0 >= widthPx - saddleReachPx || y0 >= heightPx - saddleReachPx)
      return null;
    const normal = new Float64Array(36);
    const right = new Float64Array(6);
    for (let dy = -saddleReachPx; dy <= saddleReachPx; dy++) {
      for (let dx = -saddleReachPx; dx <= saddleReachPx; dx++) {
        const [rx, ry] = [x0 + dx - cx, y0 + dy - cy];
        const weight = Math.exp(-(rx * rx + ry * ry) / (2 * (saddleReachPx / 2) ** 2));
        const terms = [rx * rx, rx * ry, ry * ry, rx, ry, 1];
        const value = smooth[(y0 + dy) * widthPx + x0 + dx]!;
        for (let i = 0; i < 6; i++) {
          right[i] = right[i]! + weight * terms[i]! * value;
          for (let j = 0; j < 6; j++) normal[6 * i + j] = normal[6 * i + j]! + weight * terms[i]! * terms[j]!;
        }
      }
    }
    const factor = choleskyFactor(normal, 6);
    if (factor === null) return null;
    const [a, b, c, d, e] = choleskySolve(factor, 6, right) as unknown as [number, number, number, number, number];
    const det = 4 * a * c - b * b;
    if (!(det < 0)) return null;
    const [mx, my] = [(b * e - 2 * c * d) / det, (b * d - 2 * a * e) / det];
    cx += mx;
    cy += my;
    if (Math.hypot(cx - x, cy - y) > 3) return null;
    if (Math.hypot(mx, my) < 1e-4) break;
  }
  return { xPx: cx, yPx: cy };
}

/** A ring about a corner crosses its mean four times. */
function alternates(smooth: Float32Array, widthPx: number, heightPx: number, { xPx, yPx }: GridPoint): boolean {
  const values = Array.from({ length: 32 }, (_, k) => {
    const angle = (2 * Math.PI * k) / 32;
    const x = Math.round(xPx + ringPx * Math.cos(angle));
    const y = Math.round(yPx + ringPx * Math.sin(angle));
    return smooth[Math.min(Math.max(y, 0), heightPx - 1) * widthPx + Math.min(Math.max(x, 0), widthPx - 1)]!;
  });
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const middle = (low + high) / 2;
  const signs = values.map((value) => value > middle);
  const crossings = signs.filter((sign, k) => sign !== signs[(k + 31) % 32]).length;
  return crossings === 4;
}
