import type { GreyImage, Region } from '../grey-image.js';

/** Gradients of a frame binned by `binPx`, with each binned pixel sorted into a kind of edge. */
export interface GradientMap {
  columns: number;
  rows: number;
  /** Edge kind per binned pixel, see edgeKinds; 0 = none. */
  kind: Uint8Array;
  /** Squared gradient per binned pixel. */
  energy: Float64Array;
  /** Noise of one gradient component. */
  noiseStdDn: number;
}

/** Pixels per bin, each way. */
export const binPx = 4;

/** Kinds of edge: bit 1 near-vertical, 2 near-horizontal, 4 any other direction; bit 8 = falling. */
export const edgeKinds = { nearVertical: 1, nearHorizontal: 2, other: 4, falling: 8 } as const;

/** Largest tangent between an edge and the pixel grid that is taken. */
const largestTangent = Math.tan((20 * Math.PI) / 180);

/**
 * Bins the region, differentiates, and sorts each binned pixel by the direction of its structure tensor over 3 × 3 bins.
 * What lies below seven times the noise, or below a twentieth of the strongest gradients, is no edge.
 */
export function gradientMap(image: GreyImage, region: Region): GradientMap {
  const columns = Math.floor(region.widthPx / binPx);
  const rows = Math.floor(region.heightPx / binPx);
  const { grey, noiseDn } = binned(image, region, columns, rows);
  const noiseStdDn = noiseDn / binPx / Math.SQRT2;
  const gx = new Float64Array(columns * rows);
  const gy = new Float64Array(columns * rows);
  const energy = new Float64Array(columns * rows);
  for (let y = 1; y < rows - 1; y++) {
    for (let x = 1; x < columns - 1; x++) {
      const i = y * columns + x;
      gx[i] = (grey[i + 1]! - grey[i - 1]!) / 2;
      gy[i] = (grey[i + columns]! - grey[i - columns]!) / 2;
      energy[i] = gx[i]! ** 2 + gy[i]! ** 2;
    }
  }
  const strongest = Float64Array.from(energy).sort()[Math.floor(0.995 * (energy.length - 1))] ?? 0;
  const least = Math.max((7 * noiseStdDn) ** 2, strongest / 400, 0.25 / binPx);
  const kind = new Uint8Array(columns * rows);
  for (let y = 2; y < rows - 2; y++) {
    for (let x = 2; x < columns - 2; x++) {
      const i = y * columns + x;
      if (energy[i]! >= least) kind[i] = kindAt(gx, gy, i, columns);
    }
  }
  return { columns, rows, kind, energy, noiseStdDn };
}

function kindAt(gx: Float64Array, gy: Float64Array, i: number, columns: number): number {
  let xx = 0;
  let xy = 0;
  let yy = 0;
  let sumX = 0;
  let sumY = 0;
  for (let dy = -columns; dy <= columns; dy += columns) {
    for (let dx = -1; dx <= 1; dx++) {
      const a = gx[i + dx + dy]!;
      const b = gy[i + dx + dy]!;
      xx += a * a;
      xy += a * b;
      yy += b * b;
      sumX += a;
      sumY += b;
    }
  }
  const spread = Math.hypot(xx - yy, 2 * xy);
  if (spread < 0.8 * (xx + yy)) return edgeKinds.other;
  const direction = 0.5 * Math.atan2(2 * xy, xx - yy);
  const tangent = Math.abs(Math.tan(direction));
  if (tangent <= largestTangent) return edgeKinds.nearVertical | (sumX < 0 ? edgeKinds.falling : 0);
  if (tangent >= 1 / largestTangent) return edgeKinds.nearHorizontal | (sumY < 0 ? edgeKinds.falling : 0);
  return edgeKinds.other;
}

/** Means of binPx × binPx pixels, and the noise per pixel from differences of neighbours (median, so edges don't count). */
function binned(image: GreyImage, region: Region, columns: number, rows: number) {
  const { data, widthPx: w } = image;
  const grey = new Float64Array(columns * rows);
  const differences: number[] = [];
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const start = (region.yPx + y * binPx) * w + region.xPx + x * binPx;
      let sum = 0;
      for (let dy = 0; dy < binPx; dy++) for (let dx = 0; dx < binPx; dx++) sum += data[start + dy * w + dx]!;
      grey[y * columns + x] = sum / binPx ** 2;
      differences.push(Math.abs(data[start + 1]! - data[start]!));
    }
  }
  differences.sort((a, b) => a - b);
  return { grey, noiseDn: (differences[differences.length >> 1] ?? 0) / 0.6745 / Math.SQRT2 };
}
