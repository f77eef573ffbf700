import type { GreyImage } from '../grey-image.js';
import type { GridPoint } from './lattice.js';

const fewestPx = 9;
/** Area of a component against the ellipse of its second moments: 1 for every ellipse. */
const ellipseBand = [0.85, 1.15] as const;

/**
 * Centres of the dots of a grid, dark on light or light on dark.
 *
 * Model    threshold against the local mean; connected parts that are ellipses of like size; each centre is the centroid of
 *          the grey values against a plane through the surroundings of the dot
 * Trust    a tilted circle's centroid is not the image of its centre: below 0.01 px for dots under 20 px tilted by 10°.
 * Checked  reference: dots rendered by numpy, tests/image/geometry/grid-target.test.ts
 */
export function findDots(image: GreyImage): GridPoint[] {
  const dark = dotsOf(image, -1);
  const light = dotsOf(image, 1);
  return dark.length >= light.length ? dark : light;
}

function dotsOf(image: GreyImage, sign: 1 | -1): GridPoint[] {
  const { widthPx, heightPx, data } = image;
  const { mean, std } = localMoments(image);
  const inside = new Uint8Array(widthPx * heightPx);
  const floor = 0.02 * Math.max(...std.filter((_, i) => i % 97 === 0), 1e-9);
  for (let i = 0; i < inside.length; i++) {
    const above = sign * (data[i]! - mean[i]!);
    inside[i] = std[i]! > floor && above > 0.5 * std[i]! ? 1 : 0;
  }
  const parts = components(inside, widthPx, heightPx).filter(
    (part) => !part.touchesRim && part.count >= fewestPx && isEllipse(part),
  );
  if (parts.length === 0) return [];
  const middle = parts.map(({ count }) => count).sort((a, b) => a - b)[parts.length >> 1]!;
  return parts
    .filter(({ count }) => count > 0.4 * middle && count < 2.5 * middle)
    .flatMap((part) => centroid(image, part, sign) ?? []);
}

/** Mean and spread of the grey values in a square about every pixel, by running sums. */
function localMoments({ widthPx, heightPx, data }: GreyImage): { mean: Float32Array; std: Float32Array } {
  const half = Math.max(8, Math.round(Math.min(widthPx, heightPx) / 8));
  const stride = widthPx + 1;
  const sums = new Float64Array(stride * (heightPx + 1));
  const squares = new Float64Array(stride * (heightPx + 1));
  for (let y = 0; y < heightPx; y++) {
    let [row, row2] = [0, 0];
    for (let x = 0; x < widthPx; x++) {
      const value = data[y * widthPx + x]!;
      row += value;
      row2 += value * value;
      const at = (y + 1) * stride + x + 1;
      sums[at] = sums[at - stride]! + row;
      squares[at] = squares[at - stride]! + row2;
    }
  }
  const mean = new Float32Array(widthPx * heightPx);
  const std = new Float32Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y++) {
    const [y0, y1] = [Math.max(0, y - half), Math.min(heightPx, y + half + 1)];
    for (let x = 0; x < widthPx; x++) {
      const [x0, x1] = [Math.max(0, x - half), Math.min(widthPx, x + half + 1)];
      const area = (x1 - x0) * (y1 - y0);
      const of = (s: Float64Array) =>
        s[y1 * stride + x1]! - s[y0 * stride + x1]! - s[y1 * stride + x0]! + s[y0 * stride + x0]!;
      const m = of(sums) / area;
      mean[y * widthPx + x] = m;
      std[y * widthPx + x] = Math.sqrt(Math.max(0, of(squares) / area - m * m));
    }
  }
  return { mean, std };
}

interface Part {
  count: number;
  x: number;
  y: number;
  xx: number;
  xy: number;
  yy: number;
  touchesRim: boolean;
}

/** Parts connected by their sides, with centre and central second moments. */
function components(inside: Uint8Array, widthPx: number, heightPx: number): Part[] {
  const parts: Part[] = [];
  const stack = new Int32Array(inside.length);
  for (let start = 0; start < inside.length; start++) {
    if (inside[start] !== 1) continue;
    let depth = 0;
    stack[depth++] = start;
    inside[start] = 2;
    let [n, sx, sy, sxx, sxy, syy] = [0, 0, 0, 0, 0, 0];
    let touchesRim = false;
    while (depth > 0) {
      const at = stack[--depth]!;
      const [x, y] = [at % widthPx, Math.floor(at / widthPx)];
      n++;
      sx += x;
      sy += y;
      sxx += x * x;
      sxy += x * y;
      syy += y * y;
      if (x === 0 || y === 0 || x === widthPx - 1 || y === heightPx - 1) {
        touchesRim = true;
        continue;
      }
      for (const next of [at - 1, at + 1, at - widthPx, at + widthPx]) {
        if (inside[next] !== 1) continue;
        inside[next] = 2;
        stack[depth++] = next;
      }
    }
    const [x, y] = [sx / n, sy / n];
    parts.push({ count: n, x, y, xx: sxx / n - x * x, xy: sxy / n - x * y, yy: syy / n - y * y, touchesRim });
  }
  return parts;
}

function isEllipse({ count, xx, xy, yy }: Part): boolean {
  // Each pixel's own square adds 1/12 to the moments.
  const moments = Math.sqrt(Math.max(0, (xx + 1 / 12) * (yy + 1 / 12) - xy * xy));
  const ratio = count / (4 * Math.PI * moments);
  return ratio > ellipseBand[0] && ratio < ellipseBand[1] && Math.max(xx, yy) < 6 * Math.min(xx, yy) + 1;
}

/** Centroid against a plane through the ring around the dot; null where the window leaves the frame. */
function centroid({ widthPx, heightPx, data }: GreyImage, part: Part, sign: 1 | -1): GridPoint | null {
  const radius = Math.sqrt(part.count / Math.PI);
  const half = Math.ceil(1.5 * radius + 1);
  let [cx, cy] = [part.x, part.y];
  for (let pass = 0; pass < 3; pass++) {
    const [x0, y0] = [Math.round(cx), Math.round(cy)];
    if (x0 - half < 0 || y0 - half < 0 || x0 + half >= widthPx || y0 + half >= heightPx) return null;
    // The rim of the window is symmetric, so that its plane is three plain sums.
    let [n, sum, sx, sy, xx] = [0, 0, 0, 0, 0];
    for (let dy = -half; dy <= half; dy++) {
      for (let dx = -half; dx <= half; dx++) {
        if (Math.max(Math.abs(dx), Math.abs(dy)) < half - 1 && Math.hypot(dx, dy) < 1.45 * radius) continue;
        const value = data[(y0 + dy) * widthPx + x0 + dx]!;
        n++;
        sum += value;
        sx += dx * value;
        sy += dy * value;
        xx += dx * dx;
      }
    }
    let [mass, mx, my] = [0, 0, 0];
    for (let dy = -half; dy <= half; dy++) {
      for (let dx = -half; dx <= half; dx++) {
        const [rx, ry] = [x0 + dx - cx, y0 + dy - cy];
        // A soft round window: no pixel enters or leaves at once while the centre moves.
        const window = Math.min(1, Math.max(0, 1.5 * radius + 0.5 - Math.hypot(rx, ry)));
        if (window === 0) continue;
        const ground = sum / n + (sx * dx + sy * dy) / xx;
        const weight = window * sign * (data[(y0 + dy) * widthPx + x0 + dx]! - ground);
        mass += weight;
        mx += weight * rx;
        my += weight * ry;
      }
    }
    if (!(mass > 0)) return null;
    cx += mx / mass;
    cy += my / mass;
    if (Math.hypot(cx - part.x, cy - part.y) > radius) return null;
  }
  return { xPx: cx, yPx: cy };
}
