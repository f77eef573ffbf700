import { seededRandom } from '../../src/base/index.js';
import type { GreyImage } from '../../src/image/index.js';

/** A straight edge blurred by disc, Gaussian and pixel, sampled, with photon and read noise. */
export interface EdgeScene {
  widthPx: number;
  heightPx: number;
  /** Tilt against the columns. */
  angleDeg: number;
  discRadiusPx: number;
  gaussPx: number;
  darkDn: number;
  brightDn: number;
  bitDepth: number;
  /** Electrons at the largest grey value; 0 = no noise at all. */
  fullWellE: number;
  readNoiseE: number;
  seed: number;
  /** Where the edge crosses the middle row, from the frame's centre. */
  offsetPx?: number;
}

/**
 * Integrates the scene over each pixel's square exactly, in space: the twice integrated edge spread function G gives the
 * mean over the square as [G(d+a+b) − G(d+a−b) − G(d−a+b) + G(d−a−b)]/(4ab), a = cos/2, b = sin/2. Nothing is shared with
 * the estimator, which works in the frequency domain.
 */
export function edgeScene(scene: EdgeScene): GreyImage {
  const { widthPx, heightPx, bitDepth } = scene;
  const angle = (scene.angleDeg * Math.PI) / 180;
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  const twice = twiceIntegrated(scene.discRadiusPx, scene.gaussPx);
  const a = cos / 2;
  const b = Math.abs(sin) / 2;
  const random = seededRandom(scene.seed);
  const full = 2 ** bitDepth - 1;
  const values = Array.from({ length: widthPx * heightPx }, (_, i) => {
    const x = (i % widthPx) - (widthPx - 1) / 2 - (scene.offsetPx ?? 0);
    const y = Math.floor(i / widthPx) - (heightPx - 1) / 2;
    const d = x * cos - y * sin;
    const share =
      b < 1e-6
        ? (twice(d + a + 1e-3) - twice(d + a - 1e-3) - twice(d - a + 1e-3) + twice(d - a - 1e-3)) / (4 * a * 1e-3)
        : (twice(d + a + b) - twice(d + a - b) - twice(d - a + b) + twice(d - a - b)) / (4 * a * b);
    let grey = scene.darkDn + (scene.brightDn - scene.darkDn) * share;
    if (scene.fullWellE > 0) {
      const perE = full / scene.fullWellE;
      const electrons = grey / perE;
      grey += perE * Math.sqrt(Math.max(0, electrons) + scene.readNoiseE ** 2) * random.normal();
    }
    return Math.min(full, Math.max(0, Math.round(grey)));
  });
  return { widthPx, heightPx, bitDepth, data: bitDepth === 8 ? Uint8Array.from(values) : Uint16Array.from(values) };
}

/** MTF of the scene along the edge's normal: the closed form that the estimate is held against. */
export function sceneMtf({ discRadiusPx, gaussPx, angleDeg }: EdgeScene, frequencyPerPx: number): number {
  const angle = (angleDeg * Math.PI) / 180;
  const sinc = (x: number) => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));
  const gauss = Math.exp(-2 * (Math.PI * gaussPx * frequencyPerPx) ** 2);
  const pixel = sinc(frequencyPerPx * Math.cos(angle)) * sinc(frequencyPerPx * Math.sin(angle));
  return Math.abs(discMtf(2 * Math.PI * discRadiusPx * frequencyPerPx) * gauss * pixel);
}

/** 2 J1(z)/z = (4/π)·∫ cos(z sin t)·cos² t dt over 0 … π/2, by the trapezoid (spectrally exact for periodic functions). */
export function discMtf(z: number): number {
  const n = 64 + Math.ceil(2 * z);
  let sum = 0;
  for (let i = 0; i < n; i++) {
    const t = (2 * Math.PI * i) / n;
    sum += Math.cos(z * Math.sin(t)) * Math.cos(t) ** 2;
  }
  return (2 * sum) / n;
}

/** G with G'' = ESF: the line spread function is put as spikes on a fine grid and integrated three times. */
function twiceIntegrated(discRadiusPx: number, gaussPx: number): (d: number) => number {
  const gridPx = discRadiusPx + gaussPx > 3 ? 1 / 64 : 1 / 256;
  const taps = lineSpread(discRadiusPx, gaussPx, gridPx);
  const half = (taps.length - 1) / 2;
  const edge = half * gridPx;
  const variance = taps.reduce((sum, tap, i) => sum + tap * ((i - half) * gridPx) ** 2, 0);
  const once = new Float64Array(taps.length + 1);
  const twice = new Float64Array(taps.length + 1);
  let esf = 0;
  for (let i = 0; i < taps.length; i++) {
    esf += taps[i]!;
    once[i + 1] = once[i]! + esf * gridPx;
    twice[i + 1] = twice[i]! + ((once[i]! + once[i + 1]!) / 2) * gridPx;
  }
  return (d) => {
    if (d <= -edge) return 0;
    // Beyond the blur: d²/2 + variance/2.
    if (d >= edge) return (d * d + variance) / 2;
    const i = Math.floor((d + edge) / gridPx);
    const t = (d + edge) / gridPx - i;
    return twice[i]! + gridPx * (once[i]! * t + ((once[i + 1]! - once[i]!) * t * t) / 2);
  };
}

/** Disc (projected onto a line) ∗ Gaussian as spikes that sum to one. */
function lineSpread(discRadiusPx: number, gaussPx: number, gridPx: number): Float64Array {
  const disc = spikes(discRadiusPx, gridPx, (t) => {
    const u = Math.max(-1, Math.min(1, t / discRadiusPx));
    return (u * Math.sqrt(1 - u * u) + Math.asin(u)) / Math.PI;
  });
  const gauss = spikes(6 * gaussPx, gridPx, (t) => normalIntegral(t / gaussPx));
  const whole = new Float64Array(disc.length + gauss.length - 1);
  disc.forEach((a, i) => {
    for (let j = 0; j < gauss.length; j++) whole[i + j] = whole[i + j]! + a * gauss[j]!;
  });
  const sum = whole.reduce((total, v) => total + v, 0);
  return whole.map((v) => v / sum);
}

function spikes(reach: number, gridPx: number, integral: (t: number) => number): Float64Array {
  if (reach === 0) return Float64Array.of(1);
  const half = Math.ceil(reach / gridPx) + 1;
  return Float64Array.from({ length: 2 * half + 1 }, (_, i) => {
    const t = (i - half) * gridPx;
    return integral(t + gridPx / 2) - integral(t - gridPx / 2);
  });
}

/** ∫ of the normal density from 0 to x, by Simpson's rule. */
function normalIntegral(x: number): number {
  const n = 40;
  const h = Math.min(8, Math.abs(x)) / n;
  let sum = 0;
  for (let i = 0; i <= n; i++) sum += (i === 0 || i === n ? 1 : i & 1 ? 4 : 2) * Math.exp(-((i * h) ** 2) / 2);
  return (Math.sign(x) * sum * h) / 3 / Math.sqrt(2 * Math.PI);
}
