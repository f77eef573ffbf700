import type { GreyImage } from '../grey-image.js';
import type { GridPoint } from './lattice.js';

const fewestPx = 9;
/** Area of a component against the ellipse of its second moments: 1 for every ellipse. */
const ellipseBand = [0.85, 1.15] as const;

/** Dots that were found, and what they look like. */
export interface FoundDots {
  points: GridPoint[];
  /** Fourfold moment of their shape: 0 for discs, about 0.4 for squares that lie alike. */
  squarenessRatio: number;
  /** How many parts of the other polarity are like dots too: about as many in a checkerboard, hardly any between dots. */
  otherCount: number;
}

/**
 * Centres of the dots of a grid, dark on light or light on dark.
 *
 * Model    threshold against the local mean; connected parts that are ellipses of like size; each centre is the centroid of
 *          the grey values against a plane through the ground about the dot, in a round window that reaches no other dot; a
 *          dot whose window leaves the frame is left out, as is one that the frame cuts
 * Trust    a tilted circle's centroid is not the image of its centre: below 0.01 px for dots under 20 px tilted by 10°.
 * Checked  reference: dots rendered by numpy, tests/image/geometry/grid-target.test.ts
 */
export function findDots(image: GreyImage): FoundDots {
  const moments = localMoments(image);
  const dark = dotsOf(image, moments, -1);
  const light = dotsOf(image, moments, 1);
  const [more, less] = dark.length >= light.length ? [dark, light] : [light, dark];
  return {
    points: more.map(({ xPx, yPx }) => ({ xPx, yPx })),
    squarenessRatio: squareness(more),
    otherCount: less.length,
  };
}

/** A centre with the moments of fourth order about it. */
interface Dot extends GridPoint {
  cosine: number;
  sine: number;
  all: number;
}

function squareness(dots: readonly Dot[]): number {
  const sum = (key: 'cosine' | 'sine' | 'all') => dots.reduce((total, dot) => total + dot[key], 0);
  const all = sum('all');
  return all > 0 ? Math.hypot(sum('cosine'), sum('sine')) / all : 0;
}

function dotsOf(image: GreyImage, { mean, std }: Moments, sign: 1 | -1): Dot[] {
  const { widthPx, heightPx, data } = image;
  const inside = new Uint8Array(widthPx * heightPx);
  const floor = 0.02 * Math.max(...std.filter((_, i) => i % 97 === 0), 1e-9);
  for (let i = 0; i < inside.length; i++) {
    const above = sign * (data[i]! - mean[i]!);
    inside[i] = std[i]! > floor && above > 0.5 * std[i]! ? 1 : 0;
  }
  const parts = components(inside, widthPx, heightPx).filter(({ count }) => count >= fewestPx);
  const whole = parts.filter((part) => !part.touchesRim && isEllipse(part));
  if (whole.length === 0) return [];
  const middle = whole.map(({ count }) => count).sort((a, b) => a - b)[whole.length >> 1]!;
  const freePx = roomAbout(parts.filter(({ count }) => count > 0.1 * middle));
  return whole
    .filter(({ count }) => count > 0.4 * middle && count < 2.5 * middle)
    .flatMap((part) => centroid(image, inside, part, { sign, freePx: freePx(part) }) ?? []);
}

/** How far it is from a part to the nearest other one, from centre to centre. */
function roomAbout(parts: readonly Part[]): (part: Part) => number {
  const cellPx = 4 * Math.sqrt(Math.max(...parts.map(({ count }) => count)) / Math.PI) + 4;
  const cells = new Map<string, Part[]>();
  const keyOf = (x: number, y: number) => `${Math.floor(x / cellPx)} ${Math.floor(y / cellPx)}`;
  for (const part of parts) {
    const key = keyOf(part.x, part.y);
    const there = cells.get(key);
    if (there) there.push(part);
    else cells.set(key, [part]);
  }
  return (part) => {
    let least = cellPx;
    for (let j = -1; j <= 1; j++) {
      for (let i = -1; i <= 1; i++) {
        for (const other of cells.get(keyOf(part.x + i * cellPx, part.y + j * cellPx)) ?? []) {
          if (other !== part) least = Math.min(least, Math.hypot(other.x - part.x, other.y - part.y));
        }
      }
    }
    return least;
  };
}

interface Moments {
  mean: Float32Array;
  std: Float32Array;
}

/** Mean and spread of the grey values in a square about every pixel, by running sums. */
function localMoments({ widthPx, heightPx, data }: GreyImage): Moments {
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

/**
 * Centroid against a plane through the ground about the dot; null where the window leaves the frame or little ground is seen.
 *
 * `inside`: not 0 in this dot and in all others; `freePx`: distance to the nearest other dot's centre.
 */
function centroid(
  { widthPx, heightPx, data }: GreyImage,
  inside: Uint8Array,
  part: Part,
  { sign, freePx }: { sign: 1 | -1; freePx: number },
): Dot | null {
  const radius = Math.sqrt(part.count / Math.PI);
  const half = Math.ceil(1.5 * radius + 1);
  const away = Math.ceil(1 + 0.15 * radius);
  // Reaches as far as may be without the nearest other dot.
  const reach = Math.max(radius + 0.5, Math.min(1.5 * radius + 0.5, freePx - 1.15 * radius - 0.5));
  let [cx, cy] = [part.x, part.y];
  let fourth = { cosine: 0, sine: 0, all: 0 };
  for (let pass = 0; pass < 3; pass++) {
    const [x0, y0] = [Math.round(cx), Math.round(cy)];
    if (x0 - half < 0 || y0 - half < 0 || x0 + half >= widthPx || y0 + half >= heightPx) return null;
    const ground = groundPlane({ x0, y0, half }, (x, y) => {
      for (let dy = -away; dy <= away; dy += away) {
        for (let dx = -away; dx <= away; dx += away) {
          const [nx, ny] = [x + dx, y + dy];
          if (nx < 0 || ny < 0 || nx >= widthPx || ny >= heightPx) continue;
          if (inside[ny * widthPx + nx] !== 0) return null;
        }
      }
      return data[y * widthPx + x]!;
    });
    if (!ground) return null;
    let [mass, mx, my] = [0, 0, 0];
    fourth = { cosine: 0, sine: 0, all: 0 };
    for (let dy = -half; dy <= half; dy++) {
      for (let dx = -half; dx <= half; dx++) {
        const [rx, ry] = [x0 + dx - cx, y0 + dy - cy];
        // A soft round window: no pixel enters or leaves at once while the centre moves.
        const window = Math.min(1, Math.max(0, reach - Math.hypot(rx, ry)));
        if (window === 0) continue;
        const weight = window * sign * (data[(y0 + dy) * widthPx + x0 + dx]! - ground(dx, dy));
        mass += weight;
        mx += weight * rx;
        my += weight * ry;
        const [xx, yy] = [rx * rx, ry * ry];
        fourth.cosine += weight * (xx * xx - 6 * xx * yy + yy * yy);
        fourth.sine += weight * 4 * rx * ry * (xx - yy);
        fourth.all += weight * (xx + yy) ** 2;
      }
    }
    if (!(mass > 0)) return null;
    cx += mx / mass;
    cy += my / mass;
    if (Math.hypot(cx - part.x, cy - part.y) > radius) return null;
  }
  return { xPx: cx, yPx: cy, ...fourth };
}

/** A plane through the pixels of a window that are ground, in places from its middle; null where there are too few. */
function groundPlane(
  { x0, y0, half }: { x0: number; y0: number; half: number },
  groundAt: (x: number, y: number) => number | null,
): ((dx: number, dy: number) => number) | null {
  let [n, x, y, xx, xy, yy, g, gx, gy] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (let dy = -half; dy <= half; dy++) {
    for (let dx = -half; dx <= half; dx++) {
      const value = groundAt(x0 + dx, y0 + dy);
      if (value === null) continue;
      n++;
      x += dx;
      y += dy;
      xx += dx * dx;
      xy += dx * dy;
      yy += dy * dy;
      g += value;
      gx += dx * value;
      gy += dy * value;
    }
  }
  if (n < 8) return null;
  const [cxx, cxy, cyy] = [xx - (x * x) / n, xy - (x * y) / n, yy - (y * y) / n];
  const det = cxx * cyy - cxy * cxy;
  if (det < 1e-3 * (xx + yy) ** 2 * 0.01) return () => g / n;
  const [cgx, cgy] = [gx - (x * g) / n, gy - (y * g) / n];
  const slopeX = (cyy * cgx - cxy * cgy) / det;
  const slopeY = (cxx * cgy - cxy * cgx) / det;
  const middle = (g - slopeX * x - slopeY * y) / n;
  return (dx, dy) => middle + slopeX * dx + slopeY * dy;
}
